"""Amounts of several currencies beside each other: they are never added."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from studio.money.rounding import ZERO


@dataclass(frozen=True)
class Sum:
    """What there is in one currency, [currency], and the locale that it is written in."""

    currency: str
    locale: str
    amount: Decimal


def by_currency(amounts: Iterable[tuple[str, Decimal]], locale: str) -> list[Sum]:
    """Return one `Sum` for each currency, by its code.

    Parameters
    ----------
    amounts : iterable of (str, Decimal)
        ISO 4217 code, and an amount in it, [currency]
    locale : str
        CLDR locale, [-]

    Returns
    -------
    sums : list of Sum
        None for no amounts, [currency]

    Examples
    --------
    >>> kept = [("EUR", Decimal(5)), ("JPY", Decimal(300)), ("EUR", Decimal(2))]
    >>> [(one.currency, one.amount) for one in by_currency(kept, "en_IE")]
    [('EUR', Decimal('7')), ('JPY', Decimal('300'))]
    """
    sums: defaultdict[str, Decimal] = defaultdict(lambda: ZERO)
    for currency, amount in amounts:
        sums[currency] += amount
    return [Sum(currency, locale, amount) for currency, amount in sorted(sums.items())]
