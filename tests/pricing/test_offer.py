"""The price of a whole commission, worked by hand."""

from decimal import Decimal as D

import pytest

from pricing.costing.price import Terms, offer


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
    return offer([(2, D(20), D(22)), (1, D(15), D(18))], terms)


def test_a_fee_for_listing_is_asked_for_each(made):
    assert [line.shown for line in made.lines] == [22, 32]
    assert (made.net, made.fees, made.cost) == (76, 3, 35)


def test_the_margin_is_what_is_left_of_the_price_before_tax(made):
    assert (made.profit, made.margin) == (38, D("0.5"))  # 76 - 3 - 35


def test_the_cautious_margin_is_what_is_left_at_worst(made):
    assert (made.cautious_profit, made.cautious_margin) == (33, D(33) / 76)  # 76 - 3 - 40
