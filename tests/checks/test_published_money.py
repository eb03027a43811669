"""Rounding and currencies against published rules."""

from decimal import ROUND_HALF_DOWN, ROUND_HALF_EVEN, Decimal
from fractions import Fraction

import pytest
from babel.numbers import get_currency_precision

from studio.money import MINOR_UNITS, format_money, minor_places, to_payable


def cents(amount):
    return to_payable(Decimal(amount), "AUD")


# A New Tax System (Goods and Services Tax) Act 1999 (Australia), section 9-90: to the nearest
# cent, rounding 0.5 cents upwards.
@pytest.mark.parametrize(
    ("amount", "rounded"),
    [("1.004", "1.00"), ("1.005", "1.01"), ("1.0149", "1.01"), ("0.005", "0.01")],
)
def test_half_a_cent_rounds_upwards_as_the_australian_act_says(amount, rounded):
    assert cents(amount) == Decimal(rounded)


def test_half_up_is_not_the_new_zealand_rule():
    """Goods and Services Tax Act 1985 (NZ), section 19O: half a cent or less may be dropped.

    0.10 at 15 % is 1.5 c: 1 c there, 2 c by the rule used here, which favours the tax office.
    """
    tax = Decimal("0.10") * Decimal("0.15")
    assert to_payable(tax, "NZD") == Decimal("0.02")
    assert tax.quantize(Decimal("0.01"), ROUND_HALF_DOWN) == Decimal("0.01")


def test_rounding_each_line_differs_from_rounding_the_total():
    """Section 9-90 allows either: 10 % of two lines of 0.25."""
    tax = Decimal("0.25") * Decimal("0.10")
    assert cents(tax) + cents(tax) == Decimal("0.06")
    assert cents(2 * tax) == Decimal("0.05")


@pytest.mark.parametrize(
    ("fraction", "name"), [("1/11", "GST 10 %"), ("1/21", "VAT 5 %"), ("3/23", "VAT 15 %")]
)
def test_tax_inside_whole_cents_never_ties_for_odd_fractions(fraction, name):
    """Number theory: an odd denominator never leaves exactly half a cent."""
    halves = [n for n in range(1, 2000) if (n * Fraction(fraction) * 2) % 2 == 1]
    assert halves == [], name


def test_tax_inside_at_twenty_percent_does_tie():
    """1.23 / 6 is 20.5 p: half up gives 21 p, half even 20 p."""
    tax = Decimal("1.23") / 6
    assert to_payable(tax, "GBP") == Decimal("0.21")
    assert tax.quantize(Decimal("0.01"), ROUND_HALF_EVEN) == Decimal("0.20")


# ISO 80000-1, annex B (from memory): rounding to 0.1 and its rule B, halves up in magnitude. The
# published figures are a hundredfold or tenfold here where a currency has fewer decimals.
@pytest.mark.parametrize(
    ("amount", "rounded"),
    [
        ("122.23", "122"),
        ("122.51", "123"),
        ("122.75", "123"),
        ("122.5", "123"),
        ("123.5", "124"),
        ("-122.5", "-123"),
    ],
)
def test_rounding_follows_rule_b_of_iso_80000(amount, rounded):
    assert to_payable(Decimal(amount), "JPY") == Decimal(rounded)


def test_rounding_is_done_once_only():
    """ISO 80000-1, annex B (from memory): 12.251 rounds to 12.3, not by way of 12.25 to 12.2."""
    assert to_payable(Decimal("122.51"), "JPY") == 123


# The Python decimal module's half-up column; halves to even or down would differ in some rows.
@pytest.mark.parametrize(
    ("amount", "rounded"),
    [
        ("2.665", "2.67"),
        ("2.675", "2.68"),
        ("1.005", "1.01"),
        ("0.125", "0.13"),
        ("0.135", "0.14"),
        ("0.145", "0.15"),
    ],
)
def test_decimal_halves_round_up_where_binary_floats_would_not(amount, rounded):
    assert cents(amount) == Decimal(rounded)


def test_the_binary_float_trap_that_decimals_avoid():
    """Python language reference: 2.675 is stored a little low."""
    assert round(2.675, 2) == 2.67
    assert round(1.005, 2) == 1.0


# Indian Standard IS 2:1960, rule II, in the rows that a currency's decimals reach.
@pytest.mark.parametrize(
    ("amount", "currency", "rounded"),
    [("9.625", "JPY", "10"), ("0.3552", "INR", "0.36"), ("12.545001", "INR", "12.55")],
)
def test_rounding_follows_indian_standard_2(amount, currency, rounded):
    assert to_payable(Decimal(amount), currency) == Decimal(rounded)


# ISO 4217, list one, as published 2026-01-01.
@pytest.mark.parametrize(
    ("places", "codes"),
    [
        (0, "JPY KRW VND CLP ISK XOF XAF XPF UGX RWF PYG KMF GNF DJF BIF VUV"),
        (2, "USD EUR GBP AUD NZD CAD CHF SEK CZK HUF IDR TWD"),
        (3, "BHD KWD OMR JOD TND LYD IQD"),
    ],
)
def test_minor_units_are_those_of_iso_4217(places, codes):
    assert {code: minor_places(code) for code in codes.split()} == dict.fromkeys(
        codes.split(), places
    )


def test_units_of_account_are_no_studios_currency():
    """ISO 4217 gives four decimals to CLF and UYW, which nobody is paid in."""
    assert {"CLF", "UYW", "XAU", "XDR", "XXX"}.isdisjoint(MINOR_UNITS)
    assert len(MINOR_UNITS) == 155, "list one, less funds, units, metals"


def test_cldr_differs_from_iso_only_where_it_says_so():
    """CLDR notes that its digits might not equal the ISO minor unit."""
    differing = {
        code for code, places in MINOR_UNITS.items() if get_currency_precision(code) != places
    }
    assert " ".join(sorted(differing)) == "AFN ALL IQD IRR KPW LAK LBP MGA MMK RSD SOS SYP YER"


@pytest.mark.parametrize(
    ("currency", "text"), [("IQD", "IQD1.250"), ("MGA", "MGA1.25"), ("JPY", "¥1")]
)
def test_money_is_shown_with_the_decimals_it_is_paid_in(currency, text):
    """ISO 4217, not CLDR, so that the lines of a quote add up to its total on paper."""
    assert format_money(Decimal("1.25"), currency, "en_US") == text
