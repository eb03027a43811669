"""The price of a whole commission, worked by hand."""

from decimal import Decimal as D
from fractions import Fraction
from math import ceil, floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.costing.price import Terms, ToPrice, fees, offer, tax_inside
from studio.money import minor_unit, to_payable


@pytest.fixture
def made():
    """Two that cost 20.00 together and one that costs 15.00, at a margin of half, listed at 1.00
    each: (10 + 1) / 0.5 = 22.00 and (15 + 1) / 0.5 = 32.00. At worst they cost 22.00 and 18.00."""
    terms = Terms(
        margin=D("0.5"),
        tax_rate=D("0.1"),
        tax_inclusive=False,
        rounding_step=D(1),
        minor_unit=D("0.01"),
        listing_fee=D(1),
    )
    return offer([ToPrice(2, D(20), D(22)), ToPrice(1, D(15), D(18))], terms)


def test_a_fee_for_listing_is_asked_for_each(made):
    assert [line.shown for line in made.lines] == [22, 32]
    assert (made.net, made.fees, made.cost) == (76, 3, 35)


def test_the_margin_is_what_is_left_of_the_price_before_tax(made):
    assert (made.profit, made.margin) == (38, D("0.5"))  # 76 - 3 - 35


def test_the_cautious_margin_is_what_is_left_at_worst(made):
    assert (made.cautious_profit, made.cautious_margin) == (33, D(33) / 76)  # 76 - 3 - 40


# Shipping


@pytest.mark.parametrize(
    ("inclusive", "shown", "with_tax", "total"),
    [(False, "7.50", "7.97", "92.97"), (True, "7.97", "7.97", "87.97")],
)
def test_shipping_is_asked_for_as_it_costs_and_with_its_tax(inclusive, shown, with_tax, total):
    """At 6.25 %: 0.46875 of 7.50, so 7.97. One at 60 / 0.75 = 80.00 before tax, which is 5.46875 of
    87.50; or at 60 / 0.80 = 75.00, which is 79.69 with its tax and rounded to 80.00."""
    terms = Terms(
        margin=D("0.25") if not inclusive else D("0.20"),
        tax_rate=D("0.0625"),
        tax_inclusive=inclusive,
        rounding_step=D(80),
        minor_unit=D("0.01"),
        shipping=D("7.50"),
    )

    made = offer([ToPrice(1, D(60), D(60))], terms)

    assert (made.shipping, made.shipping_gross) == (D(shown), D(with_tax))
    assert (made.lines[0].shown, made.gross) == (80, D(total))
    assert made.profit == made.net - made.fees - D("7.50") - 60


def half_up(amount, coin):
    return floor(amount / coin + Fraction(1, 2)) * coin


@st.composite
def terms_and_costs(draw):
    """Terms in one of four currencies, with 0, 2 and 3 decimals, and some lines."""
    coin = minor_unit(draw(st.sampled_from(("JPY", "EUR", "KWD", "USD"))))
    share = st.decimals(0, "0.25", places=4)
    terms = Terms(
        margin=draw(st.decimals(0, "0.5", places=2)),
        tax_rate=draw(share),
        tax_inclusive=draw(st.booleans()),
        rounding_step=coin * draw(st.sampled_from((1, 5, 100))),
        minor_unit=coin,
        minimum_charge=coin * draw(st.integers(0, 30_000)),
        percent_fee=draw(share),
        fixed_fee=coin * draw(st.integers(0, 300)),
        listing_fee=coin * draw(st.integers(0, 100)),
        fee_on_shipping=draw(st.booleans()),
        shipping=coin * draw(st.integers(0, 20_000)),
    )
    costs = [
        (draw(st.integers(1, 5)), cost, cost)
        for cost in draw(st.lists(st.decimals(1, 5_000, places=3), min_size=1, max_size=3))
    ]
    return terms, costs


@given(terms_and_costs())
def test_a_sale_as_agreed_brings_what_was_forecast_in_any_currency(asked):
    """The second way is in fractions, from the lines alone: what one sale of all that was quoted,
    with the shipping as agreed and at what it costs, brings after tax and fees."""
    terms, costs = asked
    coin, rate = Fraction(terms.minor_unit), Fraction(terms.tax_rate)

    made = offer([ToPrice(*one) for one in costs], terms)

    shipping = Fraction(terms.shipping)
    asked_for_it = shipping
    if terms.fee_on_shipping:  # what is left of it after the fee is what it costs
        left = 1 - Fraction(terms.percent_fee) * (1 + rate)
        asked_for_it = ceil(shipping / left / coin) * coin if terms.percent_fee else shipping
    charged = half_up(asked_for_it * (1 + rate), coin)
    lines = sum(Fraction(line.shown) * line.quantity for line in made.lines)
    lines = max(lines, Fraction(terms.minimum_charge))
    if terms.tax_inclusive:
        paid = lines + charged
        tax = half_up(paid * rate / (1 + rate), coin)
    else:
        tax = half_up((lines + asked_for_it) * rate, coin)
        paid = lines + asked_for_it + tax
    kept_of = paid if terms.fee_on_shipping else paid - charged
    count = sum(quantity for quantity, _, _ in costs)
    kept = Fraction(terms.fixed_fee) + count * Fraction(terms.listing_fee)
    kept = half_up(kept_of * Fraction(terms.percent_fee) + kept, coin)
    cost = sum(Fraction(cost) for _, cost, _ in costs)
    assert (made.shipping_gross, made.gross, made.tax, made.fees) == (charged, paid, tax, kept)
    assert Fraction(made.profit) == paid - tax - kept - shipping - cost
    # What the sale itself works out of its total, by the functions that a sale uses.
    currency = {1: "JPY", D("0.01"): "EUR", D("0.001"): "KWD"}[terms.minor_unit]
    fixed = terms.fixed_fee + terms.listing_fee * count
    goods = made.gross - made.shipping_gross
    by_sale = fees(goods, terms.percent_fee, fixed, made.shipping_gross, terms.fee_on_shipping)
    assert tax_inside(made.gross, terms.tax_rate, terms.minor_unit) == made.tax
    assert to_payable(by_sale, currency) == made.fees


def test_a_fee_for_the_sale_is_shared_over_all_that_is_sold():
    """Four at a cost of 20.00 together and 8.00 for the sale: (5 + 8 / 4) / 0.5 = 14.00 each."""
    terms = Terms(D("0.5"), D(0), False, D(1), D("0.01"), fixed_fee=D(8))

    made = offer([ToPrice(4, D(20), D(20))], terms)

    assert (made.lines[0].shown, made.fees, made.profit) == (14, 8, 56 - 8 - 20)


@pytest.mark.parametrize(
    ("on_shipping", "net", "gross", "fees"),
    [(False, 110, 121, D("22.00")), (True, D("112.83"), D("124.11"), D("24.82"))],
)
def test_a_share_is_taken_of_the_goods_and_of_shipping_where_the_channel_says_so(
    on_shipping, net, gross, fees
):
    """A fifth of the price with tax. The goods cost 50.00, are asked at 50 / (1 - 0.28 - 0.2 x 1.1)
    = 100.00, and are paid with tax at 110.00; shipping of 10.00 is paid with tax at 11.00, and
    where a fifth of that is taken too it is asked at 10 / (1 - 0.2 x 1.1) = 12.83."""
    terms = Terms(
        margin=D("0.28"),
        tax_rate=D("0.1"),
        tax_inclusive=False,
        rounding_step=D(1),
        minor_unit=D("0.01"),
        percent_fee=D("0.2"),
        fee_on_shipping=on_shipping,
        shipping=D(10),
    )

    made = offer([ToPrice(1, D(50), D(50))], terms)

    assert (made.net, made.gross, made.fees) == (net, gross, fees)
    assert made.profit == net - fees - 10 - 50
