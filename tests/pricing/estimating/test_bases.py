"""A thin or a flooded base: asked of lines, products, price lists and pours, on page and API."""

from decimal import Decimal as D

import pytest
from django.urls import reverse

from pricing.bench.pours import LayerLog
from pricing.commissions.orders import change_line
from pricing.costing.planned_price import price_of_product
from pricing.earnings.price_list import price_list
from pricing.errors import CatalogueError
from pricing.estimating.estimates import estimate, estimate_commission
from pricing.models import CommissionLine, Product
from pricing.quoting.quotes import draft_quote
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import add_tiles, opened

pytestmark = pytest.mark.django_db
BASES = ("thin", "flooded", "")
REFUSED = "A bloom has one kind of base only. Leave it out."


@pytest.fixture
def bench():
    return working_studio()


@pytest.fixture
def ring(bench):
    return bench.studio.techniques.get(slug="ring-pour")


@pytest.fixture
def maker(bench):
    return member(bench.studio, "maker", sees_costs=True)


def specified(bench, **more):
    return {
        "surface": bench.canvas_size.pk,
        "palette": bench.palette.pk,
        "pieces_each": 1,
        **more,
    }


@pytest.mark.parametrize("base", BASES)
def test_a_line_is_estimated_over_its_base(bench, ring, base):
    commission = opened(bench)
    add_tiles(bench, commission, technique=ring, base=base)

    (line,) = estimate_commission(commission).lines

    alone = estimate(bench.studio, bench.tile_size, "ring-pour", 8, bench.palette, base=base)
    assert (line.piece.base, line.piece.bases) == (base, alone.bases)
    assert [one.median_ml for one in line.piece.layers] == [one.median_ml for one in alone.layers]
    words = f"ring pour over a {base} base," if base else "ring pour,"
    assert words in line.line.description


def test_quotes_products_and_price_lists_count_on_the_base(bench, ring):
    """A flood of base costs more than a little of it; not told, enough is mixed for either."""
    asked = {}
    for base in BASES:
        commission = opened(bench)
        add_tiles(
            bench, commission, technique=ring, base=base, surface=bench.canvas_size, pieces_each=1
        )
        quote = draft_quote(commission=commission, by=None)
        product = Product(
            studio=bench.studio,
            surface=bench.canvas_size,
            technique=ring,
            base=base,
            palette=bench.palette,
        )
        rows = price_list(bench.studio, ring, bench.palette, together=2, base=base).rows
        listed = next(row for row in rows if row.surface == bench.canvas_size)
        one = price_of_product(product, 2)
        asked[base] = (
            D(quote.frozen["lines"][0]["cost"]),
            D(quote.frozen["asking"]["cost"]) / 2,
            listed.cost,
            one.asking.offer.cost / 2,
        )
    for thin, flooded, untold in zip(*(asked[base] for base in BASES), strict=True):
        assert thin < flooded < untold
    for line_cost, quoted, of_list, of_product in asked.values():
        assert line_cost > 0
        assert quoted == pytest.approx(of_product, abs=D("0.01"))
        assert of_list == pytest.approx(of_product, abs=D("0.01"))


def test_a_line_is_asked_for_its_base_on_its_page(bench, ring, maker):
    commission = opened(bench)
    new = reverse("line-new", args=[commission.number])
    sent = specified(bench, technique=ring.pk, quantity=1, base="flooded", size="", use="look")

    asked = maker.client.get(new).content.decode()
    refused = maker.client.post(new, {**sent, "technique": bench.bloom.pk})
    maker.client.post(new, sent)
    page = maker.client.get(reverse("commission", args=[commission.number])).content.decode()

    assert "Thin or flooded" in asked
    assert (refused.status_code, REFUSED in refused.content.decode()) == (422, True)
    line = CommissionLine.objects.get()
    assert line.base == "flooded"
    assert "Ring pour over a flooded base" in page
    edit = maker.client.get(reverse("line-edit", args=[commission.number, line.pk]))
    assert '<option value="flooded" selected>' in edit.content.decode()


def test_a_line_says_its_base_through_the_api(bench, maker):
    number = opened(bench).number
    lines = f"/api/v1/commissions/{number}/lines/"
    sent = specified(bench, technique="flip-cup", base="thin", use="look")

    made = maker.api.post(lines, sent)
    refused = maker.api.post(lines, {**sent, "technique": "bloom"})
    other = maker.api.patch(f"{lines}{made.data['id']}/", {"technique": "bloom"})
    changed = maker.api.patch(f"{lines}{made.data['id']}/", {"base": ""})

    assert (made.status_code, made.data["base"]) == (201, "thin")
    for answer in (refused, other):
        assert (answer.status_code, answer.data["fields"]) == (400, {"base": [REFUSED]})
    assert (changed.status_code, changed.data["base"]) == (200, "")
    line = CommissionLine.objects.get()
    with pytest.raises(CatalogueError, match="one kind of base only"):
        change_line(line=line, by=None, technique=bench.bloom, base="thin")


def test_a_product_says_its_base_on_page_and_api(bench, ring, maker):
    sent = specified(
        bench, name="Rings", packaging="", topcoat="", price="", minutes="", use="look"
    )
    on_page = {**sent, "technique": ring.pk, "base": "flooded"}
    new = reverse("product-new")

    refused = maker.client.post(new, {**on_page, "technique": bench.bloom.pk})
    maker.client.post(new, on_page)
    product = Product.objects.get()
    shown = maker.api.get(f"/api/v1/products/{product.pk}/").data
    other = maker.api.patch(f"/api/v1/products/{product.pk}/", {"technique": "bloom"})
    made = maker.api.post(
        "/api/v1/products/",
        specified(bench, name="Thin", technique="ring-pour", base="thin", use="look"),
    )

    assert (refused.status_code, REFUSED in refused.content.decode()) == (422, True)
    assert (product.base, shown["base"], made.data["base"]) == ("flooded", "flooded", "thin")
    assert (other.status_code, other.data["fields"]) == (400, {"base": [REFUSED]})
    assert product.line().base == "flooded"
    listed = maker.client.get(reverse("products")).content.decode()
    assert "ring pour over a flooded base" in listed


def test_a_pour_for_a_line_is_over_its_base_unless_told_otherwise(bench, ring, maker):
    line = add_tiles(bench, opened(bench), technique=ring, base="flooded")
    layers = {"base": LayerLog(D(90)), "colours": LayerLog(D(30))}
    of_line = {"line": line, "layers": layers, "surface": None, "palette": None}

    first = log(bench, technique=None, **of_line)
    second = log(bench, technique=None, base="thin", **of_line)
    other = log(bench, technique=bench.bloom, **of_line)
    form = maker.client.get(f"{reverse('pour-new')}?line={line.pk}").content.decode()

    assert (first.base, second.base, other.base) == ("flooded", "thin", "")
    assert '<option value="flooded" selected>' in form
    page = maker.client.get(reverse("pour", args=[first.number])).content.decode()
    assert "ring pour over a flooded base" in page


def test_prices_by_size_are_over_the_base_that_is_chosen(bench, ring, maker):
    page = reverse("price-list")
    query = {"technique": "ring-pour", "palette": bench.palette.pk, "together": 1}
    ask = {"technique": "ring-pour", "palette": bench.palette.pk}

    thin, flooded, bloom = (
        maker.client.get(page, {**query, **more}).context["found"]
        for more in ({"base": "thin"}, {"base": "flooded"}, {"base": "thin", "technique": "bloom"})
    )
    api = maker.api.post("/api/v1/price-list/", {**ask, "base": "thin", "together": 1})
    odd = maker.api.post("/api/v1/price-list/", {**ask, "technique": "bloom", "base": "thin"})

    assert all(one.asked < other.asked for one, other in zip(thin.rows, flooded.rows, strict=True))
    assert bloom.base == ""  # a bookmark of another technique
    assert [D(row["asked"]) for row in api.data["rows"]] == [row.asked for row in thin.rows]
    assert (odd.status_code, odd.data["detail"]) == (409, REFUSED)


def test_the_table_of_sizes_has_a_page_for_each_base(bench, maker):
    page = maker.client.get(reverse("size-table"))

    names = [one.name for one in page.context["pages"]]
    text = page.content.decode()
    for technique in ("Flip cup", "Ring pour"):
        assert technique not in names
        for base in ("thin", "flooded"):
            assert f"<h2>{technique} over a {base} base</h2>" in text
    assert "<h2>Bloom</h2>" in text
    of_ring = {one.base: one.rows[0].amounts[0] for one in page.context["pages"] if one.base}
    told = estimate(bench.studio, bench.tile_size, "ring-pour", base="thin").layers[0]
    assert of_ring["thin"].median_ml == told.median_ml
