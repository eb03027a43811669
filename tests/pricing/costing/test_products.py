"""Products: kept on a page and through the API, by those who may, among one's own rows only."""

from decimal import Decimal as D

import pytest
from django.urls import reverse

from pricing.models import Product
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.pricing import ProductFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def wanted(bench, **changes):
    return {
        "name": "Tide coasters",
        "surface": bench.tile_size.pk,
        "palette": bench.palette.pk,
        "topcoat": bench.kit.pk,
        "pieces_each": 4,
        "packaging": bench.box.pk,
        "price": "48",
        "minutes": "",
        "use": "look",
        **changes,
    }


def test_a_product_is_kept_on_its_page(bench):
    client = member(bench.studio, "maker").client

    done = client.post(reverse("product-new"), wanted(bench, technique=bench.bloom.pk), follow=True)

    text = done.content.decode()
    assert "Tide coasters is saved." in text
    assert "Set of 4: Tile 10 × 10 cm, bloom, Tide, resin topcoat" in text
    kept = Product.objects.get()
    assert (kept.studio, kept.price, kept.minutes) == (bench.studio, D(48), None)


def test_a_product_is_kept_through_the_api(bench):
    api = member(bench.studio, "maker").api

    made = api.post("/api/v1/products/", wanted(bench, technique="bloom", price="0", minutes=None))
    changed = api.patch(f"/api/v1/products/{made.data['id']}/", {"price": "52.50"})
    taken = api.post("/api/v1/products/", wanted(bench, technique="bloom", minutes=None))

    assert (made.status_code, made.data["price"]) == (201, None)  # nothing is no price
    assert made.data["packaging"]["name"] == "box"
    assert changed.data["price"] == "52.500"
    assert (taken.status_code, set(taken.data["fields"])) == (400, {"name"})


def test_only_packaging_is_packed_in(bench):
    api = member(bench.studio, "maker").api

    answer = api.post(
        "/api/v1/products/",
        wanted(bench, technique="bloom", minutes=None, packaging=bench.white.pk),
    )

    assert (answer.status_code, set(answer.data["fields"])) == (400, {"packaging"})


def test_a_viewer_reads_and_another_studio_finds_nothing(bench, other_owner):
    product = ProductFactory(studio=bench.studio, name="Tide coasters")
    viewer = member(bench.studio, "viewer").client
    edit = reverse("product-edit", args=[product.pk])

    assert "Tide coasters" in viewer.get(reverse("products")).content.decode()
    assert viewer.get(edit).status_code == 403
    assert other_owner.client.get(edit).status_code == 404
    assert "Tide coasters" not in other_owner.client.get(reverse("products")).content.decode()
    assert other_owner.api.get(f"/api/v1/products/{product.pk}/").status_code == 404


@pytest.mark.parametrize("rows", (1, 3))
def test_the_list_asks_the_same(bench, django_assert_num_queries, rows):
    ProductFactory.create_batch(rows, studio=bench.studio)
    client = member(bench.studio, "viewer").client

    with django_assert_num_queries(5):  # session, person, membership; how many, the rows
        page = client.get(reverse("products")).content.decode()

    assert page.count('<div class="what">') == rows
    assert "asking price" not in page


@pytest.mark.parametrize("rows", (1, 3))
def test_the_prices_of_the_list_ask_the_same(bench, django_assert_num_queries, rows):
    for number in range(rows):
        ProductFactory(
            studio=bench.studio,
            name=f"Tile {number}",
            surface=bench.tile_size,
            technique=bench.bloom,
            palette=bench.palette,
            topcoat=bench.kit,
        )
    client = member(bench.studio, "maker").client

    client.get(reverse("products"))  # what the learning keeps is then at hand
    # session, person, membership; how many, the rows; 23 for all that their prices rest on
    with django_assert_num_queries(27):
        page = client.get(reverse("products")).content.decode()

    assert page.count("asking price") == rows
