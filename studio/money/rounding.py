"""Amounts of money: exact until somebody pays, then rounded once to the currency's minor unit."""

from collections.abc import Sequence
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from math import lcm

# Decimals of each currency a studio may choose: ISO 4217, list one as published 2026-01-01, less
# its funds, units of account and metals. Amounts are stored and shown by it; CLDR, which Babel
# follows elsewhere, gives fewer decimals to some of them (none to IQD, where ISO has three), and
# the lines of a quote shown so would not add up to its total.
_CODES = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF",
    2: """
        AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD
        CDF CHF CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD
        GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL
        MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN
        PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP
        SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST XCD XCG YER ZAR ZMW ZWG
    """,
    3: "BHD IQD JOD KWD LYD OMR TND",
}
MINOR_UNITS = {code: places for places, codes in _CODES.items() for code in codes.split()}

ZERO = Decimal(0)

# What stock is worth is kept to a millionth, so that shares of it add up exactly.
VALUE_PLACES = Decimal("0.000001")

LARGEST = Decimal(1_000_000_000)

WIDE = Context(prec=60, rounding=ROUND_HALF_UP)


class MoneyError(ValueError):
    """Raised when an amount cannot be read or rounded; its text is one sentence saying why."""


def minor_places(currency: str) -> int:
    """Return how many decimals a currency is paid in.

    Parameters
    ----------
    currency : str
        ISO 4217 code, [-]

    Returns
    -------
    places : int
        Decimals, 0 to 3, [-]

    Raises
    ------
    MoneyError
        If the code is not one a studio may choose.

    Examples
    --------
    >>> minor_places("EUR"), minor_places("JPY"), minor_places("KWD")
    (2, 0, 3)

    References
    ----------
    ISO 4217, list one, 2026-01-01.
    """
    try:
        return MINOR_UNITS[currency]
    except (KeyError, TypeError):
        raise MoneyError(
            "That currency is not known; give its three-letter ISO 4217 code, such as EUR."
        ) from None


def minor_unit(currency: str) -> Decimal:
    """Return the smallest amount a currency is paid in.

    Parameters
    ----------
    currency : str
        ISO 4217 code, [-]

    Returns
    -------
    unit : Decimal
        From 1 down to 0.001, [currency]

    Raises
    ------
    MoneyError
        If the code is not one a studio may choose.

    Examples
    --------
    >>> minor_unit("EUR"), minor_unit("JPY")
    (Decimal('0.01'), Decimal('1'))
    """
    return Decimal(1).scaleb(-minor_places(currency))


def finite(amount: Decimal | int) -> Decimal:
    """Return an amount as a finite Decimal, or refuse it."""
    if isinstance(amount, bool) or not isinstance(amount, (Decimal, int)):
        raise TypeError(f"Money is a Decimal, not a {type(amount).__name__}.")
    amount = Decimal(amount)
    if not amount.is_finite():
        raise MoneyError("An amount of money must be a plain number.")
    return amount


def rounded(amount: Decimal | int, places: int) -> Decimal:
    """Round an amount half up, away from zero, to so many decimals.

    Parameters
    ----------
    amount : Decimal or int
        What is rounded, [currency]
    places : int
        How many decimals are kept, [-]

    Returns
    -------
    rounded : Decimal
        The amount with so many decimals, [currency]

    Raises
    ------
    MoneyError
        If the amount is not finite or too large.

    Examples
    --------
    >>> rounded(Decimal("-0.0005"), 3)
    Decimal('-0.001')
    """
    amount = finite(amount)
    if abs(amount) >= LARGEST * LARGEST:
        raise MoneyError("That amount of money is too large.")
    return amount.quantize(Decimal(1).scaleb(-places), context=WIDE)


def to_payable(amount: Decimal | int, currency: str) -> Decimal:
    """Round an exact amount, half up, to what can be paid.

    Parameters
    ----------
    amount : Decimal or int
        Amount; a half goes away from zero, so that a refund mirrors its payment, [currency]
    currency : str
        ISO 4217 code, [-]

    Returns
    -------
    payable : Decimal
        Amount with the currency's own number of decimals, [currency]

    Raises
    ------
    MoneyError
        If the amount is not a number or the currency is not known.
    TypeError
        If the amount is a float, which has already lost what rounding needs.

    Examples
    --------
    >>> to_payable(Decimal("41.985"), "EUR"), to_payable(Decimal("41.985"), "JPY")
    (Decimal('41.99'), Decimal('42'))

    References
    ----------
    ISO 80000-1, annex B, rule B (from memory). A New Tax System (Goods and Services Tax) Act
    1999 (Australia), section 9-90, rounds half a cent the same way.
    """
    return rounded(amount, minor_places(currency))


def allocate(
    total: Decimal | int, weights: Sequence[Decimal | int | Fraction], places: int
) -> list[Decimal]:
    """Split an amount in proportion to weights, so that the shares add up to it exactly.

    Each share is rounded down to the last place, and the units left over go one each to the
    largest remainders; between equals, to the earlier one.

    Parameters
    ----------
    total : Decimal or int
        Amount to split, with no more than `places` decimals; may be negative, [currency]
    weights : sequence of Decimal, int or Fraction, shape (n,)
        Weights, none negative and not all zero, [-]
    places : int
        Decimals of each share, [-]

    Returns
    -------
    shares : list of Decimal, shape (n,)
        Shares in the order of the weights, each less than one unit of the last place from its
        exact proportion, [currency]

    Raises
    ------
    MoneyError
        If a weight is negative, all are zero, or the total has more decimals than the shares.

    Examples
    --------
    >>> allocate(Decimal("100.00"), [1, 1, 1], 2)
    [Decimal('33.34'), Decimal('33.33'), Decimal('33.33')]

    References
    ----------
    The method of largest remainders (Hamilton's), as in apportionment.
    """
    total = finite(total)
    ratios = [weight.as_integer_ratio() for weight in weights]
    common = lcm(*(below for _, below in ratios))
    parts = [above * (common // below) for above, below in ratios]
    whole = sum(parts)
    if any(part < 0 for part in parts) or not whole:
        raise MoneyError("Shares need weights that are not negative and not all zero.")
    unit = Decimal(1).scaleb(-places)
    units, rest = divmod(abs(Fraction(total)), Fraction(unit))
    if rest:
        raise MoneyError(f"{total} cannot be split exactly into shares of {places} decimals.")
    counts = [units * part // whole for part in parts]
    by_remainder = sorted(range(len(parts)), key=lambda place: -(units * parts[place] % whole))
    for place in by_remainder[: units - sum(counts)]:
        counts[place] += 1
    sign = -1 if total < 0 else 1
    return [WIDE.multiply(Decimal(sign * count), unit) for count in counts]


def add_up(amounts: Sequence[Decimal], places: int) -> list[Decimal]:
    """Round amounts so that what is shown adds up: to the sum of the exact ones, rounded.

    Each is rounded down, and the units that the total still lacks go one each to the largest
    remainders; between equals, to the earlier one. An amount that is round already stays.

    Parameters
    ----------
    amounts : sequence of Decimal, shape (n,)
        Exact amounts of either sign, [currency]
    places : int
        Decimals to show, [-]

    Returns
    -------
    shown : list of Decimal, shape (n,)
        In the same order, each less than one unit of the last place off, [currency]

    Raises
    ------
    MoneyError
        If the sum of the amounts is too large.

    Examples
    --------
    Three thirds of 10.00, and a row that takes some of it back:

    >>> third = Decimal("3.333333")
    >>> [str(one) for one in add_up([third, third, third, Decimal("-0.005")], 2)]
    ['3.33', '3.33', '3.33', '0.00']

    References
    ----------
    The method of largest remainders (Hamilton's), as in `allocate`.
    """
    unit = Decimal(1).scaleb(-places)
    total = rounded(sum(amounts, ZERO), places)
    lower = [amount.quantize(unit, ROUND_FLOOR, WIDE) for amount in amounts]
    lacking = int((total - sum(lower, ZERO)) / unit)
    order = range(len(amounts))
    largest = set(sorted(order, key=lambda place: lower[place] - amounts[place])[:lacking])
    return [low + unit if place in largest else low for place, low in enumerate(lower)]
