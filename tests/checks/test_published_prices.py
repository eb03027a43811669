"""Price identities, tax and makers' rules against published figures."""

from decimal import ROUND_DOWN, ROUND_HALF_DOWN, ROUND_HALF_EVEN, Decimal
from fractions import Fraction

import pytest

from pricing.costing.price import (
    MaterialCost,
    PriceError,
    StepTime,
    break_even_units,
    cost_of,
    fees,
    price,
    sessions,
    tax_inside,
)

D = Decimal


def percent(number):
    return D(number) / 100


def test_cost_40_at_a_markup_of_half_is_60():
    """A worked example on the web: price 60, margin 33.33 %."""
    by_markup, by_margin = price(D(40), markup=D("0.5")), price(D(40), margin=D(20) / D(60))

    assert by_markup.gross == by_margin.gross == D(60)
    assert round(by_markup.margin, 4) == D("0.3333")


def test_a_markup_is_on_the_cost_and_fees_come_on_top_of_it():
    """By hand, in fractions: 40 at a half leaves 20. Of a price of x with 25 % tax, 8 % of the
    gross are 10 % of the net, and 3 a sale: 0.9 x - 3 = 60, so x = 70, 87.50 with tax.
    """
    asked = price(
        D(40), markup=D("0.5"), percent_fees=percent(8), fixed_fees=D(3), tax_rate=percent(25)
    )

    assert (asked.net, asked.tax, asked.gross) == (D(70), D("17.50"), D("87.50"))
    assert (asked.fees, asked.profit) == (D(10), D(20))


def test_price_with_percentage_and_fixed_fees():
    """Algebra: P = (C + F) / (1 - f - m), to nine places; nearest cent would miss the margin."""
    asked = price(D(12), margin=percent(40), percent_fees=percent("6.5"), fixed_fees=D("0.45"))

    assert asked.net_unrounded == pytest.approx(D("23.271028037"), rel=D("1e-9"))
    assert asked.gross == D("23.28")
    assert asked.margin == pytest.approx(D("0.4002062"), abs=D("1e-7"))
    assert (D("23.27") * D("0.935") - D("12.45")) / D("23.27") < percent(40)


@pytest.mark.parametrize(("margin", "share"), [("0.6", "0.4"), ("0.935", "0.065"), ("0.8", "0.5")])
def test_fees_and_margin_that_fill_the_price_are_refused(margin, share):
    """f + m >= 1 has no price; the formula would give a negative one."""
    with pytest.raises(PriceError):
        price(D(12), margin=D(margin), percent_fees=D(share))


def test_break_even_of_hicks_manufacturing():
    """OpenStax, *Principles of Accounting, Volume 2*, Hicks Manufacturing (inputs from memory)."""
    assert break_even_units(D(18000), D(100), D(20)) == 225
    assert 225 * D(100) == D(22500)


def test_break_even_is_rounded_up():
    """Penn State open text, section 7.2: 20,000 over a contribution of 150 is 133.33."""
    assert break_even_units(D(20000), D(400), D(250)) == 134


@pytest.mark.parametrize(("asked", "units"), [(75, 1600), (95, 960)])
def test_break_even_of_a_textbook_exercise(asked, units):
    """Fixed costs 48,000, variable cost 45 (inputs published, answers computed)."""
    assert break_even_units(D(48000), D(asked), D(45)) == units


@pytest.mark.parametrize(
    ("gross", "tax"),
    [
        ("110.00", "10.00"),
        ("1100.00", "100.00"),
        ("19.95", "1.81"),
        ("24.99", "2.27"),
        ("100.00", "9.09"),
        ("0.10", "0.01"),
        ("0.05", "0.00"),
    ],
)
def test_australian_gst_is_an_eleventh(gross, tax):
    """Australian Taxation Office: divide by 11; half a cent goes up (GST Act 1999, s 9-90)."""
    assert tax_inside(D(gross), percent(10)) == D(tax)


def test_new_zealand_drops_half_a_cent():
    """Goods and Services Tax Act 1985, s 19O: half a cent or less may be disregarded.

    0.115 with 15 % inside holds 1.5 cents of tax.
    """
    assert tax_inside(D("0.115"), percent(15), rounding=ROUND_HALF_DOWN) == D("0.01")
    assert tax_inside(D("0.115"), percent(15)) == D("0.02")


def test_united_kingdom_may_round_down():
    """HMRC VATREC12010: the tax on an invoice may be rounded down. 1.97 / 6 is 32.83 pence."""
    assert tax_inside(D("1.97"), percent(20)) == D("0.33")
    assert tax_inside(D("1.97"), percent(20), rounding=ROUND_DOWN) == D("0.32")


def test_tax_by_line_and_by_total_differ():
    """10 % on two lines of 0.25: 0.03 each, against 0.05 on the total; prices before tax."""
    line = price(D("0.25"), margin=D(0), tax_rate=percent(10), tax_inclusive=False)
    both = price(D("0.50"), margin=D(0), tax_rate=percent(10), tax_inclusive=False)

    assert (2 * line.tax, both.tax) == (D("0.06"), D("0.05"))


def test_whole_cents_meet_half_a_cent_of_tax_only_at_a_sixth():
    """Odd denominators never land on half a cent; sixths do, as 1.23 / 6 = 20.5 pence."""
    for rate, ties in ((10, 0), (5, 0), (15, 0), (20, 1000 // 6 + 1)):
        fraction = Fraction(rate, 100 + rate)
        assert (
            sum(
                (n * fraction * 2).denominator == 1 and (n * fraction).denominator == 2
                for n in range(1, 1001)
            )
            == ties
        )
    assert tax_inside(D("1.23"), percent(20)) == D("0.21")
    assert tax_inside(D("1.23"), percent(20), rounding=ROUND_HALF_EVEN) == D("0.20")


def test_marketplace_fees_are_taken_of_shipping_too():
    """A large handmade marketplace from 2022.

    6.5 % of an item at 50 and shipping at 10 is 3.90; 3 % and 0.25 on the item alone is 1.75.
    """
    assert fees(D(50), percent("6.5"), D(0), shipping=D(10)) == D("3.90")
    assert fees(D(50), percent(3), D("0.25"), D(10), percent_on_shipping=False) == D("1.75")


def test_a_gallery_that_takes_half():
    """Usual gallery share, 50 %: the artist's net of 3,000 is 1,500; a cost of 900 leaves 20 %."""
    asked = price(D(900), margin=percent(20), percent_fees=percent(50))

    assert (asked.gross, asked.fees, asked.profit) == (D(3000), D(1500), D(600))


def test_cost_and_thirty_per_cent_on_top():
    """A published formula: (materials 40 + labour 100 + overhead 10) x 1.30 = 195."""
    cost = cost_of(
        materials=[MaterialCost("materials", D(40), D(40))],
        sessions=sessions(1, D(1)),
        steps=[StepTime("work", fixed_minutes=D(60))],
        hourly_rate=D(100),
        overhead=D(10),
    )

    assert cost.total == 150
    assert price(cost.total, margin=D(45) / D(195)).gross == 195


def test_doubling_the_cost_is_a_margin_of_half():
    """Keystone pricing: 2 x (supplies 2 + labour 3 + overhead 1) = 12."""
    assert price(D(6), margin=percent(50)).gross == 12


def test_three_hours_at_ten():
    """A published scarf: 15 of materials and 10 an hour for 3 hours of labour make 45."""
    cost = cost_of(
        materials=[MaterialCost("yarn", D(15), D(15))],
        sessions=sessions(1, D(1)),
        steps=[StepTime("work", fixed_minutes=D(180))],
        hourly_rate=D(10),
    )

    assert (cost.of("labour"), cost.total) == (30, 45)
