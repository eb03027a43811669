"""Prices by size: from the cost, beside makers' rules fitted to the studio's own prices."""

import csv
from decimal import Decimal as D
from io import StringIO

import numpy as np
import pytest
from django.urls import reverse

from pricing.costing.price import PriceError, fitted_rate
from pricing.earnings.price_list import price_list
from pricing.quoting import quotes as quoting
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.pricing import ProductFactory
from tests.factories.pricing import SavedSurfaceFactory as Surface
from tests.pricing.commissions.test_commissions import opened
from tests.pricing.quoting.test_quote_pages import paper_of, text_of


def test_a_rule_is_the_least_squares_line_through_nothing():
    pairs = [(D(16), D(20)), (D(64), D(60)), (D(144), D(150))]
    sizes = np.array([[float(size)] for size, _ in pairs])
    expected = np.linalg.lstsq(sizes, np.array([float(paid) for _, paid in pairs]), rcond=None)

    assert float(fitted_rate(pairs)) == pytest.approx(expected[0][0], abs=5e-5)


def test_a_size_of_one_is_a_size():
    assert fitted_rate([(D(1), D(3))]) == 3


@pytest.mark.parametrize("pairs", [[], [(D(0), D(5))], [(D(0), D(5)), (D(4), D(8))]])
def test_a_rule_needs_prices(pairs):
    with pytest.raises(PriceError):
        fitted_rate(pairs)


pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio(margin=D("0.5"))


def listed(bench, **more):
    return price_list(bench.studio, bench.bloom, bench.palette, **more)


def test_a_price_is_that_of_a_quote_for_so_many(bench):
    commission = opened(bench)
    commission.lines.create(
        surface=bench.canvas_size, technique=bench.bloom, palette=bench.palette, quantity=1
    )
    quote = quoting.draft_quote(commission=commission, by=None)

    row = next(row for row in listed(bench).rows if row.surface == bench.canvas_size)

    assert row.asked == D(quote.frozen["lines"][0]["unit_price"])
    assert row.cost == pytest.approx(D(quote.frozen["asking"]["cost"]), abs=D("0.01"))


def test_making_several_together_makes_each_cheaper(bench):
    alone, four = listed(bench), listed(bench, together=4)

    for one, each in zip(alone.rows, four.rows, strict=True):
        assert each.cost < one.cost
        assert each.asked < one.asked


def test_sizes_are_in_order_and_measured(bench):
    tile, canvas = listed(bench).rows

    assert (tile.surface, canvas.surface) == (bench.tile_size, bench.canvas_size)
    assert (canvas.area_in2, canvas.sides_in) == (D("64.0"), D("16.0"))  # 8 × 8 in


def test_rules_are_fitted_to_the_studios_own_prices(bench):
    product = {"technique": bench.bloom, "palette": bench.palette, "studio": bench.studio}
    ProductFactory(surface=bench.canvas_size, price=D(128), pieces_each=1, **product)

    found = listed(bench)

    assert (found.area_rate, found.sides_rate, found.own_prices) == (2, 8, 1)
    tile, canvas = found.rows
    assert (canvas.by_area, canvas.by_sides, canvas.own) == (128, 128, 128)
    assert tile.by_area == D("31.00")  # 15.5 square inches at 2
    assert tile.by_sides == D("63.20")  # 7.9 inches of width plus height at 8


def test_a_size_that_loses_money_is_marked(bench):
    product = {"technique": bench.bloom, "palette": bench.palette, "studio": bench.studio}
    ProductFactory(surface=bench.canvas_size, price=D(20), pieces_each=1, **product)

    tile, canvas = listed(bench).rows

    assert canvas.losing == (
        "by the square inch",
        "by width plus height",
        "at your own price",
    )
    assert "by the square inch" in tile.losing
    assert tile.asked > tile.cost


def test_a_size_without_a_price_for_its_surface_says_so(bench):
    from tests.factories.inventory import MaterialFactory

    board = MaterialFactory(studio=bench.studio, name="board", kind="surface", unit="each")
    Surface(studio=bench.studio, name="Board", material=board)

    rows = {row.surface.name: row for row in listed(bench).rows}

    assert "No price is known for board" in rows["Board"].remark
    assert rows["Board"].asked is None
    assert rows["Canvas 8 × 8 × 1½ in"].asked


def test_more_sizes_ask_no_more(bench, django_assert_num_queries):
    for more in range(2):
        listed(bench)  # what was learned from pours is then at hand
        bench.palette.refresh_from_db()
        with django_assert_num_queries(20):
            listed(bench)
        for number in range(3):
            Surface(studio=bench.studio, name=f"Size {number} {more}", material=bench.tile)


# Pages


@pytest.mark.parametrize("name", ["price-list", "price-list-pdf", "price-list-csv"])
def test_makers_open_it_and_nobody_else(bench, other_owner, stranger, name):
    path = reverse(name)

    assert member(bench.studio, "maker", sees_costs=True).client.get(path).status_code == 200
    assert member(bench.studio, "viewer").client.get(path).status_code == 403
    assert stranger.client.get(path).status_code == 302
    elsewhere = other_owner.client.get(f"{path}?palette={bench.palette.pk}", follow=True)
    assert "Canvas 8" not in text_of(elsewhere)


def test_page_paper_and_file_agree(bench):
    maker = member(bench.studio, "maker", sees_costs=True).client
    row = listed(bench, together=4).rows[1]
    price = f"${row.asked:.2f}"

    page = text_of(maker.get(reverse("price-list")))
    paper = paper_of(maker.get(reverse("price-list-pdf")))
    body = maker.get(reverse("price-list-csv")).content.decode("utf-8-sig")
    lines = list(csv.DictReader(StringIO(body)))

    assert price in page and f"${row.cost:.2f}" in page
    assert price in paper and f"${row.cost:.2f}" not in paper
    assert D(lines[1]["Price"]) == row.asked


def test_the_api_tells_the_same(bench):
    wanted = {"technique": "bloom", "palette": bench.palette.pk, "together": 4}
    told = member(bench.studio, "maker").api.post("/api/v1/price-list/", wanted, format="json").data

    assert [D(row["asked"]) for row in told["rows"]] == [
        row.asked for row in listed(bench, together=4).rows
    ]
