"""Forecast against actual, and break-even, worked by hand from the parts they are made of."""

from decimal import Decimal as D
from math import ceil

import pytest
from django.urls import reverse

from pricing.bench import topcoats
from pricing.earnings.break_even import break_even
from pricing.earnings.hindsight import hindsight
from pricing.earnings.profit import set_profit, total
from pricing.estimating.estimates import estimate
from pricing.selling import sales
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.pricing import ChannelFactory, ProductFactory
from tests.pricing.test_commissions import accepted
from tests.pricing.test_pours import log
from tests.pricing.test_quote_pages import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio(monthly_costs=D(300))


def product(bench, **more):
    return ProductFactory(
        studio=bench.studio,
        technique=bench.bloom,
        palette=bench.palette,
        **{
            "name": "One tile",
            "surface": bench.tile_size,
            "pieces_each": 1,
            "price": D(30),
            **more,
        },
    )


def sold_commission(bench, sets=2, sell=2):
    commission = accepted(bench, quantity=sets, topcoat=bench.kit)
    line = commission.lines.get()
    for _ in range(sell):
        pour = log(bench, line=line, good_count=4)
        topcoats.log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(40), minutes=D(20))
        sales.pack_set(studio=bench.studio, by=None, name="", pieces=pour.pieces.all(), line=line)
    sales.sell(
        studio=bench.studio,
        by=None,
        channel=bench.own_sale,
        sold_on=bench.studio.today(),
        items=sales.prices_quoted(commission),
        commission=commission,
    )
    return commission


# Forecast and actual


def test_the_forecast_is_the_quotes_own_profit_and_the_actual_the_profit_pages(bench):
    commission = sold_commission(bench)

    (one,) = hindsight(bench.studio)

    quote = commission.quotes.get()
    assert one.forecast.profit == pytest.approx(D(quote.frozen["totals"]["profit"]))
    assert one.forecast.revenue == quote.gross
    assert one.actual == total(set_profit(bench.studio))
    assert one.actual.revenue == quote.gross
    assert one.difference == one.actual.profit - one.forecast.profit


def test_the_forecasts_minutes_and_labour_hold_the_work_on_failures(bench):
    commission = sold_commission(bench)

    (one,) = hindsight(bench.studio)

    lines = commission.quotes.get().frozen["lines"]
    minutes = sum(D(line["minutes"]) for line in lines)
    assert one.forecast.minutes == minutes
    assert one.forecast.labour == pytest.approx(minutes * 18 / 60, abs=D("0.001"))


def test_what_is_not_sold_whole_is_not_compared(bench):
    sold_commission(bench, sets=2, sell=1)

    assert hindsight(bench.studio) == []


@pytest.mark.parametrize("more", (1, 2))
def test_more_commissions_ask_no_more(bench, more, django_assert_num_queries):
    for _ in range(more):
        sold_commission(bench, sets=1, sell=1)

    with django_assert_num_queries(13):
        assert len(hindsight(bench.studio)) == more


# Break-even


def test_fixed_costs_over_contribution_rounded_up(bench):
    product(bench)
    (one,) = break_even(bench.studio, D(300))

    assert one.kept == 30  # straight from the studio, before tax
    assert one.contribution == 30 - one.materials
    assert (one.count - 1) * one.contribution < 300 <= one.count * one.contribution
    assert one.minutes > 0


# What the bench's materials cost, by the mL.
PER_ML = {"white": D("0.02"), "blue": D("0.04"), "gold": D("0.05"), "water": D(0)}


def paint_of(bench, surface, pieces):
    """What the paint of so many pieces costs in the middle case, failures left out."""
    needed = estimate(bench.studio, surface, "bloom", pieces, palette=bench.palette)
    return sum(need.median * PER_ML[each.name] for each, need in needed.materials.items())


def test_spare_pieces_count_by_their_share_and_not_whole(bench):
    """A canvas is 7.00, and of a hundred 85 come out well, so each good one takes 1/0.85 of canvas
    and paint: seven a month earn 300 back. Were a whole spare one counted with each, it was ten."""
    product(bench, surface=bench.canvas_size, price=D(64))
    poured = 7 + paint_of(bench, bench.canvas_size, 1)

    (one,) = break_even(bench.studio, D(300))

    assert one.materials == pytest.approx(poured / D("0.85"), abs=D("0.0001"))
    assert one.count == 7
    assert ceil(300 / (64 - 2 * poured)) == 10


def test_spare_pieces_of_a_set_take_paint_and_tiles_but_no_resin_and_no_box(bench):
    """Four tiles at 0.50 are poured 4/0.85 times; resin is 0.06 a mL and the box 1.20, once."""
    product(bench, pieces_each=4, topcoat=bench.kit, packaging=bench.box, price=D(60))
    coated = estimate(
        bench.studio, bench.tile_size, "bloom", 4, palette=bench.palette, topcoat=bench.kit
    )
    resin = sum(need.median for need in coated.layer("topcoat").materials.values()) * D("0.06")

    (one,) = break_even(bench.studio, D(300))

    poured = (4 * D("0.50") + paint_of(bench, bench.tile_size, 4)) / D("0.85")
    assert one.materials == pytest.approx(poured + resin + D("1.20"), abs=D("0.0001"))


def test_fees_of_a_channel_make_it_more(bench):
    product(bench)
    market = ChannelFactory(studio=bench.studio, percent_fee=D("0.2"), fixed_fee=D(1))

    (straight,) = break_even(bench.studio, D(300))
    (there,) = break_even(bench.studio, D(300), market)

    assert there.kept == 30 - D("33") * D("0.2") - 1  # fees are of the price with tax
    assert there.count > straight.count


def test_no_fixed_costs_break_even_at_once(bench):
    product(bench)

    assert break_even(bench.studio, D(0))[0].count == 0


def test_what_brings_no_more_than_its_materials_never_does(bench):
    product(bench, price=D("0.10"))

    (one,) = break_even(bench.studio, D(300))

    assert one.count is None
    assert "raise its price" in one.problem


def test_the_average_set_sold_stands_first(bench):
    sold_commission(bench)
    product(bench)
    sums = total(set_profit(bench.studio))

    average, _ = break_even(bench.studio, D(300))

    assert average.name == "The average of 2 sets sold in the last year"
    contribution = (sums.revenue - sums.tax - sums.fees - sums.materials) / 2
    assert average.contribution == pytest.approx(contribution)


def test_more_products_ask_no_more(bench, django_assert_num_queries):
    for number in range(3):
        product(bench, name=f"Tile {number}", price=None)

    break_even(bench.studio, D(300))  # what was learned from pours is then at hand
    with django_assert_num_queries(23):
        break_even(bench.studio, D(300))

    for number in range(3, 5):
        product(bench, name=f"Tile {number}", price=None)
    with django_assert_num_queries(23):
        break_even(bench.studio, D(300))


# Pages


@pytest.mark.parametrize("name", ["break-even", "hindsight", "hindsight-csv"])
def test_members_see_their_own_and_strangers_nothing(bench, other_owner, stranger, name):
    sold_commission(bench)
    product(bench)
    path = reverse(name)
    title = "Coasters"

    seen = text_of(member(bench.studio, "viewer").client.get(path))
    elsewhere = text_of(other_owner.client.get(path))

    assert ("One tile" if name == "break-even" else title) in seen
    assert "One tile" not in elsewhere and title not in elsewhere.replace("Coasters and", "")
    assert stranger.client.get(path).status_code == 302


def test_the_pages_and_the_api_agree(bench):
    sold_commission(bench)
    product(bench)
    viewer = member(bench.studio, "viewer")
    one = break_even(bench.studio, D(300))[1]

    page = text_of(viewer.client.get(reverse("break-even")))
    told = viewer.api.get("/api/v1/break-even/").data["results"]
    looked = viewer.api.get("/api/v1/hindsight/").data["results"]

    assert f"<strong>{one.count}</strong>" in page
    assert told[1]["count"] == one.count
    assert D(looked[0]["difference"]) == pytest.approx(hindsight(bench.studio)[0].difference)
    bad = viewer.client.get(reverse("break-even"), {"costs": "lots"})
    assert "lots" in text_of(bad)
