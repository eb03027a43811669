"""What can hurt is said where it is done: by act, on the page of the act and on its paper."""

import io
from decimal import Decimal as D

import pytest
from django.urls import reverse
from pypdf import PdfReader

from inventory.mixing.recipes import save_recipe
from studio.cautions import CAUTIONS, FIRST
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.inventory import BottleFactory, MaterialFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import add_tiles, opened
from tests.pricing.selling.test_sales import pack

pytestmark = pytest.mark.django_db
# What must be said of each, whatever the words around it: the trade's and the authorities' own.
WORDS = {
    "resin": ["nitrile", "allergy", "respirator", "fresh air"],
    "solvent": ["no flame", "windows open"],
    "flame": ["Never near alcohol"],
    "tile": ["silica", "wet", "respirator"],
    "sanding": ["full cure", "wet", "respirator"],
    "food": ["no approved food surface", "heat limit", "never call a piece heatproof"],
    "resin-waste": ["hazardous waste", "never into a drain", "cure"],
    "paint-waste": ["Nothing down the sink", "settle", "dry"],
    "children": ["No resin, solvents or flame", "certified"],
}


@pytest.fixture
def bench():
    return working_studio()


@pytest.fixture
def maker(bench, client):
    client.force_login(member(bench.studio, "maker").user)
    return client


def acts_on(client, address):
    """Return the acts whose every sentence stands on a page."""
    page = client.get(address)
    assert page.status_code == 200, address
    shown = page.content.decode().replace("&#x27;", "'")
    found = [one.act for one in CAUTIONS.values() if all(say in shown for say in one.sentences)]
    assert FIRST in shown or not found
    return set(found)


def test_every_act_says_what_it_must_and_defers_to_the_maker():
    assert {one: CAUTIONS[one].act for one in CAUTIONS} == {one: one for one in WORDS}
    for act, words in WORDS.items():
        text = " ".join(CAUTIONS[act].sentences)
        assert [word for word in words if word not in text] == []
        assert len(text) < 700  # short enough to be read
    assert "safety data sheet" in FIRST and "local rules" in FIRST and "licence" in FIRST


def test_all_of_it_stands_on_a_page_that_anyone_may_read(client):
    assert acts_on(client, "/safety/") == set(CAUTIONS)


def test_resin_is_cautioned_where_it_is_kept_planned_mixed_and_poured(bench, maker):
    commission = opened(bench)
    line = add_tiles(bench, commission, topcoat=bench.kit)
    pour = log(bench, line=line, good_count=4)
    resin = bench.kit.resin.bottles.first()
    query = (
        f"?size=4x4+in&technique=bloom&palette={bench.palette.pk}&topcoat={bench.kit.pk}&count=1"
    )

    for address in (
        reverse("material", args=[bench.kit.resin_id]),
        reverse("bottle", args=[resin.code]),
        reverse("bottle-decant", args=[resin.code]),
        f"/plan/{query}",
        reverse("commission", args=[commission.number]),
        reverse("topcoat-new", args=[pour.number]),
    ):
        assert {"resin", "resin-waste"} <= acts_on(maker, address), address
    assert "sanding" in acts_on(maker, reverse("topcoat-new", args=[pour.number]))


def test_what_catches_fire_is_cautioned_where_it_is_kept_mixed_and_thrown_away(bench, maker):
    alcohol = MaterialFactory(studio=bench.studio, name="Isopropyl alcohol", is_flammable=True)
    bottle = BottleFactory(studio=bench.studio, material=alcohol)
    recipe = save_recipe(
        studio=bench.studio,
        name="Thinned",
        role="colour",
        basis="volume",
        parts=[(alcohol, D(1)), (bench.blue, D(9))],
    )

    for address in (
        reverse("material", args=[alcohol.pk]),
        reverse("bottle", args=[bottle.code]),
        reverse("bottle-take", args=[bottle.code, "waste"]),
        reverse("recipe", args=[recipe.pk]),
    ):
        assert "solvent" in acts_on(maker, address), address
    assert "solvent" not in acts_on(maker, reverse("material", args=[bench.blue.pk]))


def test_flame_dust_and_waste_are_cautioned_where_pieces_are_poured(bench, maker):
    commission = opened(bench)
    add_tiles(bench, commission)

    assert {"flame", "paint-waste"} <= acts_on(maker, reverse("pour-new"))
    sheet = f"{reverse('mixing')}?commission={commission.number}"
    assert {"tile", "flame", "paint-waste"} <= acts_on(maker, sheet)


def test_throwing_away_says_where_it_may_go(bench, maker):
    resin = bench.kit.resin.bottles.first()
    paint = bench.white.bottles.first()
    box = bench.box.bottles.first()

    thrown = {
        name: acts_on(maker, reverse("bottle-take", args=[bottle.code, "waste"]))
        for name, bottle in {"resin": resin, "paint": paint, "box": box}.items()
    }

    assert thrown == {"resin": {"resin-waste", "resin"}, "paint": {"paint-waste"}, "box": set()}


def test_food_and_heat_are_cautioned_on_what_is_sold(bench, maker):
    one = pack(bench)

    assert "food" in acts_on(maker, reverse("set", args=[one.number]))


def test_the_paper_for_the_bench_says_it_too(bench, maker):
    commission = opened(bench)
    add_tiles(bench, commission, topcoat=bench.kit)

    answer = maker.get(f"{reverse('mixing-pdf')}?commission={commission.number}")

    pages = PdfReader(io.BytesIO(answer.content)).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for act in ("resin", "flame", "tile", "paint-waste"):
        assert CAUTIONS[act].sentences[0][:60] in text, act
    assert FIRST[:50] in text
