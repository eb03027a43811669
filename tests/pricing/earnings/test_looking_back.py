"""Forecast against actual, and break-even, worked by hand from the parts they are made of."""

from decimal import Decimal as D
from fractions import Fraction
from math import ceil, comb

import pytest
from django.urls import reverse

from pricing.earnings.break_even import break_even
from pricing.earnings.hindsight import hindsight
from pricing.earnings.profit import set_profit, total
from pricing.earnings.report import compared
from pricing.estimating.estimates import estimate
from pricing.quoting import quotes as quoting
from pricing.selling import sales
from studio.money import format_money
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.pricing import ChannelFactory, ProductFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened
from tests.pricing.costing.test_price import expected_pours
from tests.pricing.quoting.test_quote_pages import text_of

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
        going_on.log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(40), minutes=D(20))
        going_on.pack_set(
            studio=bench.studio, by=None, name="", pieces=pour.pieces.all(), line=line
        )
    going_on.sell(
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


def test_each_forecast_is_shown_as_its_quote_says_beside_however_many_others(bench, client):
    client.force_login(member(bench.studio, "owner").user)
    for _ in range(3):
        sold_commission(bench, sets=1, sell=1)

    (table,) = compared(bench.studio)

    quotes = [row.commission.quotes.get() for row in table.rows]
    exact = [Fraction(quote.frozen["totals"]["profit"]) for quote in quotes]
    assert [Fraction(row.forecast.profit) for row in table.rows] == [
        Fraction(round(each * 100), 100) for each in exact
    ]
    assert table.forecast.profit == sum(row.forecast.profit for row in table.rows)
    assert exact != [Fraction(row.forecast.profit) for row in table.rows]  # something was rounded
    page = client.get(reverse("quote", args=[quotes[0].pk])).content.decode()
    keeps = format_money(table.rows[0].forecast.profit, "USD", bench.studio.locale)
    assert f'Profit after paying yourself</span><span class="big">{keeps}<' in page


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

    # how many were sold of each, what they earned, their quotes
    with django_assert_num_queries(3):
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
    """What the paint of so many pieces costs as it is mixed, failures left out."""
    needed = estimate(bench.studio, surface, "bloom", pieces, palette=bench.palette)
    return sum(need.used * PER_ML[each.name] for each, need in needed.materials.items())


def test_spare_pieces_count_by_their_share_and_not_whole(bench):
    """A canvas is 7.00, and of a hundred 85 come out well, so each good one takes 1/0.85 of canvas
    and paint: seven a month earn 300 back. Were a whole spare one counted, it was more
    than twice as many."""
    product(bench, surface=bench.canvas_size, price=D(82))
    poured = 7 + paint_of(bench, bench.canvas_size, 1)

    (one,) = break_even(bench.studio, D(300))

    assert one.materials == pytest.approx(poured / D("0.85"), abs=D("0.001"))
    assert one.count == 7
    assert ceil(300 / (82 - 2 * poured)) > 14


def test_spare_pieces_of_a_set_take_paint_and_tiles_but_no_resin_and_no_box(bench):
    """Four tiles at 0.50 are poured 4/0.85 times, what failed by itself; the box is 1.20, once.

    Resin at 0.06 a mL goes over what came out well of each pour.
    """
    product(bench, pieces_each=4, topcoat=bench.kit, packaging=bench.box, price=D(60))

    (one,) = break_even(bench.studio, D(300))

    pours = expected_pours(4, Fraction("0.85"))
    paint = sum(
        times * Fraction(paint_of(bench, bench.tile_size, count)) for count, times in pours.items()
    )
    resin = sum(
        times
        * comb(count, well)
        * Fraction("0.85") ** well
        * Fraction("0.15") ** (count - well)
        * Fraction(resin_of(bench, well))
        for count, times in pours.items()
        for well in range(1, count + 1)
    )
    expected = 4 * Fraction("0.50") / Fraction("0.85") + paint + resin + Fraction("1.20")
    assert float(one.materials) == pytest.approx(float(expected), abs=0.0002)


def resin_of(bench, pieces):
    coated = estimate(bench.studio, bench.tile_size, "bloom", pieces, topcoat=bench.kit)
    return coated.layer("topcoat").to_mix_ml * D("0.06")


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
    with django_assert_num_queries(20):
        break_even(bench.studio, D(300))

    for number in range(3, 5):
        product(bench, name=f"Tile {number}", price=None)
    with django_assert_num_queries(20):
        break_even(bench.studio, D(300))


# Pages


@pytest.mark.parametrize("name", ["break-even", "hindsight", "hindsight-csv"])
def test_members_see_their_own_and_strangers_nothing(bench, other_owner, stranger, name):
    sold_commission(bench)
    product(bench)
    path = reverse(name)
    title = "Coasters"

    seen = text_of(member(bench.studio, "maker", sees_costs=True).client.get(path))
    elsewhere = text_of(other_owner.client.get(path))

    assert ("One tile" if name == "break-even" else title) in seen
    assert "One tile" not in elsewhere and title not in elsewhere.replace("Coasters and", "")
    assert stranger.client.get(path).status_code == 302


def test_the_pages_and_the_api_agree(bench):
    sold_commission(bench)
    product(bench)
    maker = member(bench.studio, "maker", sees_costs=True)
    one = break_even(bench.studio, D(300))[1]

    page = text_of(maker.client.get(reverse("break-even")))
    told = maker.api.get("/api/v1/break-even/").data["results"]
    looked = maker.api.get("/api/v1/hindsight/").data["results"]

    assert f"<strong>{one.count}</strong>" in page
    assert told[1]["count"] == one.count
    assert D(looked[0]["difference"]) == pytest.approx(hindsight(bench.studio)[0].difference)
    bad = maker.client.get(reverse("break-even"), {"costs": "lots"})
    assert "lots" in text_of(bad)


@pytest.mark.parametrize("tax_inclusive", (True, False))
@pytest.mark.parametrize(
    ("currency", "shipping", "charged"),
    # A fifth of tax on what it costs, to the currency's own minor unit, half up.
    [("USD", "7.52", "9.02"), ("EUR", "4.99", "5.99"), ("JPY", "733", "880"), ("KWD", "1", "1.2")],
)
def test_shipping_is_in_the_sale_as_it_was_in_the_forecast(
    currency, shipping, charged, tax_inclusive
):
    bench = working_studio(
        currency=currency, rounding_step=D(1), tax_rate=D("0.20"), tax_inclusive=tax_inclusive
    )
    commission = opened(bench)
    add_tiles(bench, commission, quantity=1)
    quote = quoting.draft_quote(commission=commission, by=None, shipping=D(shipping))
    quoting.accept_quote(quote=going_on.send_quote(quote=quote, by=None), name="Wren Alder")
    line = commission.lines.get()
    pieces = log(bench, line=line, good_count=4).pieces.all()
    going_on.pack_set(studio=bench.studio, by=None, name="", pieces=pieces, line=line)

    sale = going_on.sell(
        studio=bench.studio,
        by=None,
        channel=bench.own_sale,
        sold_on=bench.studio.today(),
        items=sales.prices_quoted(commission),
        commission=commission,
    )

    (row,) = hindsight(bench.studio)
    assert (sale.shipping_charged, sale.shipping_paid) == (D(charged), D(shipping))
    for part in ("revenue", "tax", "fees"):
        assert getattr(row.forecast, part) == getattr(row.actual, part), part
    made = sale.lines.get().piece_set.spent.materials
    assert row.actual.materials - made == D(shipping)
