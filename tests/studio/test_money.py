"""Rounding, writing, reading and splitting money."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from studio.money import (
    MINOR_UNITS,
    MoneyError,
    add_up,
    allocate,
    format_money,
    minor_places,
    parse_money,
    to_payable,
)

currencies = st.sampled_from(sorted(MINOR_UNITS))
amounts = st.decimals("0", "999999", places=5)
LOCALES = [
    *("en_US", "en_GB", "en_AU", "en_IN", "de_DE", "de_CH", "fr_FR", "fr_CA", "es_ES", "pt_BR"),
    *("it_IT", "sv_SE", "da_DK", "nb_NO", "pl_PL", "cs_CZ", "hu_HU", "ja_JP", "vi_VN", "ar_EG"),
]


@given(amounts, currencies)
def test_payable_is_within_half_a_minor_unit(amount, currency):
    payable = to_payable(amount, currency)

    unit = Decimal(1).scaleb(-minor_places(currency))
    assert payable % unit == 0
    assert abs(payable - amount) * 2 <= unit
    assert payable.as_tuple().exponent == -minor_places(currency)


@given(amounts, currencies)
def test_a_refund_mirrors_its_payment(amount, currency):
    assert to_payable(-amount, currency) == -to_payable(amount, currency)


@pytest.mark.parametrize("amount", [Decimal("nan"), Decimal("inf"), Decimal("1e40")])
def test_what_cannot_be_paid_is_refused(amount):
    with pytest.raises(MoneyError):
        to_payable(amount, "EUR")


def test_money_is_never_a_float():
    with pytest.raises(TypeError, match="float"):
        to_payable(2.675, "EUR")


@pytest.mark.parametrize("code", ["", "eur", "XXX", "XAU", "CLF", None, ["EUR"]])
def test_what_is_no_currency_of_a_studio_is_refused(code):
    with pytest.raises(MoneyError, match="ISO 4217"):
        to_payable(Decimal(1), code)


# Grouping, signs and their places are CLDR's; the figures are the amounts themselves.
@pytest.mark.parametrize(
    ("amount", "currency", "locale", "text"),
    [
        ("1234.5", "USD", "en_US", "$1,234.50"),
        ("1234.5", "EUR", "de_DE", "1.234,50\xa0€"),
        ("1234.5", "GBP", "en-GB", "£1,234.50"),
        ("1234.5", "JPY", "en_US", "¥1,235"),
        ("1234.5", "KWD", "en_US", "KWD1,234.500"),
        ("1234.5", "AUD", "en_AU", "$1,234.50"),
        ("123456", "INR", "en_IN", "₹1,23,456.00"),
        ("-5", "USD", "en_US", "-$5.00"),
        ("2.675", "USD", "en_US", "$2.68"),
    ],
)
def test_money_is_written_as_its_locale_does(amount, currency, locale, text):
    assert format_money(Decimal(amount), currency, locale) == text


def test_a_cost_by_the_millilitre_shows_more_decimals():
    assert format_money(Decimal("0.02135"), "USD", "en_US", places=4) == "$0.0214"


def test_an_unknown_locale_is_refused():
    with pytest.raises(MoneyError, match="locale"):
        format_money(Decimal(1), "USD", "xx_XX")


@given(amounts, currencies, st.sampled_from(LOCALES))
def test_written_money_reads_back_as_what_is_payable(amount, currency, locale):
    text = format_money(amount, currency, locale)
    assert parse_money(text, currency, locale) == to_payable(amount, currency)


@pytest.mark.parametrize(
    ("text", "currency", "amount"),
    [
        ("1,234.50", "USD", "1234.50"),
        ("1.234,50", "EUR", "1234.50"),
        ("1 234,50 €", "EUR", "1234.50"),
        ("1\u202f234,50\xa0€", "EUR", "1234.50"),
        ("CHF 1'234.50", "CHF", "1234.50"),
        ("CHF 1’234.50", "CHF", "1234.50"),
        ("$12.5", "USD", "12.5"),
        ("$12.5", "AUD", "12.5"),
        ("A$12.5", "AUD", "12.5"),
        ("USD 12", "USD", "12"),
        ("12 usd", "USD", "12"),
        ("12,50 kr", "SEK", "12.50"),
        ("12,50 kr.", "DKK", "12.50"),
        ("1,234", "USD", "1234"),
        ("1,234,567", "USD", "1234567"),
        ("1.234.567", "VND", "1234567"),
        ("1,23,456.00", "INR", "123456"),
        ("1.234", "KWD", "1.234"),
        ("0.5", "USD", "0.5"),
        (".5", "USD", "0.5"),
        ("$.50", "USD", "0.5"),
        ("Cg.1,234.50", "XCG", "1234.50"),
        ("0", "USD", "0"),
        ("￥１２００", "JPY", "1200"),
        ("٥٠", "EGP", "50"),
    ],
)
def test_money_is_read_tolerantly(text, currency, amount):
    assert parse_money(text, currency) == Decimal(amount)


def test_the_locale_settles_what_a_lone_mark_means():
    assert parse_money("1.234", "EUR", "de_DE") == 1234
    assert parse_money("1,234", "KWD", "en_US") == 1234
    assert parse_money("1,234", "KWD", "fr_FR") == Decimal("1.234")


@pytest.mark.parametrize(
    ("text", "currency", "says"),
    [
        ("", "USD", "Nothing was given"),
        (None, "USD", "Nothing was given"),
        ("-5", "USD", "cannot be negative"),
        ("−5", "USD", "cannot be negative"),
        ("(5)", "USD", "cannot be negative"),
        ("NaN", "USD", "not an amount"),
        ("Infinity", "USD", "not an amount"),
        ("1e5", "USD", "not an amount"),
        ("1+1", "USD", "not an amount"),
        ("½", "USD", "not an amount"),
        ("5²", "USD", "not an amount"),
        ("1.2345", "USD", "more than 2 decimals"),
        ("0,125", "USD", "more than 2 decimals"),
        ("12.5", "JPY", "more than 0 decimals"),
        ("1.234", "USD", "could be 1234 or 1.234"),
        ("1,234", "KWD", "could be 1234 or 1.234"),
        ("1,2,3", "USD", "unusual way"),
        ("1.2,3.4", "USD", "unusual way"),
        ("12 34", "USD", "unusual way"),
        ("€12", "USD", "not an amount of money in USD"),
        ("12 EUR", "USD", "not an amount of money in USD"),
        ("1000000000", "USD", "under 1,000,000,000"),
        ("1" * 41, "USD", "longer than 40"),
    ],
)
def test_money_is_refused_in_one_sentence(text, currency, says):
    with pytest.raises(MoneyError, match=says) as refusal:
        parse_money(text, currency)

    assert str(refusal.value).endswith(".")


@given(
    st.one_of(st.text(max_size=50), st.text(alphabet="0123456789.,' $€kr-+eE٣５½\n", max_size=14)),
    currencies,
    st.sampled_from([None, *LOCALES]),
)
@example("1e999999", "USD", None)
@example("９" * 40, "USD", None)
def test_any_text_is_an_amount_or_refused(text, currency, locale):
    try:
        amount = parse_money(text, currency, locale)
    except MoneyError as refusal:
        assert str(refusal).endswith(".")
    else:
        assert 0 <= amount < 1_000_000_000
        assert to_payable(amount, currency) == amount


weights = st.lists(st.integers(0, 10_000), min_size=1, max_size=12).filter(any)


@given(st.integers(-(10**9), 10**9), weights, st.integers(0, 4))
def test_shares_add_up_and_stay_within_one_unit(units, weights, places):
    unit = Decimal(1).scaleb(-places)
    total = units * unit

    shares = allocate(total, weights, places)

    assert sum(shares) == total
    for share, weight in zip(shares, weights, strict=True):
        exact = Fraction(total) * weight / sum(weights)
        assert abs(Fraction(share) - exact) < Fraction(unit)
        if weight == 0:
            assert share == 0


@given(st.integers(0, 15), st.lists(st.integers(0, 9), min_size=1, max_size=3).filter(any))
def test_no_other_split_into_whole_units_is_nearer(units, weights):
    """Largest remainders minimise the sum of squared errors (brute force over small splits)."""

    def error(shares):
        exact = [Fraction(units * weight, sum(weights)) for weight in weights]
        return sum((Fraction(a) - b) ** 2 for a, b in zip(shares, exact, strict=True))

    def splits(left, count):
        if count == 1:
            yield (left,)
            return
        for first in range(left + 1):
            for rest in splits(left - first, count - 1):
                yield (first, *rest)

    found = allocate(Decimal(units), weights, 0)
    assert error(found) == min(error(each) for each in splits(units, len(weights)))


def test_equal_remainders_go_to_the_earlier_share():
    assert allocate(Decimal("0.05"), [1, 1], 2) == [Decimal("0.03"), Decimal("0.02")]
    assert allocate(Decimal("-0.05"), [1, 1], 2) == [Decimal("-0.03"), Decimal("-0.02")]


of_either_sign = st.lists(st.decimals("-99999", "99999", places=6), max_size=12)


@given(of_either_sign, st.integers(0, 3))
def test_what_is_shown_adds_up_to_the_rounded_total(exact, places):
    """In fractions: the sum rounded half away from zero, each row less than a unit off."""
    unit = Fraction(1, 10**places)
    total = sum(map(Fraction, exact), Fraction(0))
    whole = (abs(total) / unit + Fraction(1, 2)).__floor__() * unit

    shown = add_up(exact, places)

    assert sum(map(Fraction, shown)) == (whole if total >= 0 else -whole)
    for before, after in zip(exact, shown, strict=True):
        assert Fraction(after) % unit == 0
        assert abs(Fraction(after) - Fraction(before)) < unit
        assert Fraction(before) % unit or after == before


def test_a_unit_left_over_goes_to_the_largest_remainder():
    """By hand: 0.004, 0.007 and 0.004 are 0.015, shown as 0.02; -0.004 and 0.002 as nothing."""
    for exact, shown in (
        (["1.004", "2.007", "3.004"], ["1.01", "2.01", "3.00"]),
        (["0.004", "0.007", "0.004"], ["0.01", "0.01", "0.00"]),
        (["-0.004", "0.002"], ["0.00", "0.00"]),
    ):
        assert add_up([Decimal(one) for one in exact], 2) == [Decimal(one) for one in shown]


def test_weights_may_be_decimals():
    assert allocate(Decimal("9.99"), [Decimal("0.25"), Decimal("0.75")], 2) == [
        Decimal("2.50"),
        Decimal("7.49"),
    ]


@pytest.mark.parametrize(
    ("total", "weights"),
    [("1.00", []), ("1.00", [0, 0]), ("1.00", [1, -1]), ("1.005", [1, 1]), ("nan", [1])],
)
def test_what_cannot_be_split_is_refused(total, weights):
    with pytest.raises(MoneyError):
        allocate(Decimal(total), weights, 2)
