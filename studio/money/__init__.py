"""Money as exact ``Decimal`` amounts, in the studio's currency.

Everything here is pure. A refusal is a :class:`MoneyError` whose text is one sentence.
"""

from studio.money.rounding import (
    MINOR_UNITS,
    VALUE_PLACES,
    ZERO,
    MoneyError,
    add_up,
    allocate,
    minor_places,
    minor_unit,
    rounded,
    to_payable,
)
from studio.money.sums import Sum, by_currency
from studio.money.text import format_money, parse_money

__all__ = [
    "MINOR_UNITS",
    "VALUE_PLACES",
    "ZERO",
    "MoneyError",
    "Sum",
    "add_up",
    "allocate",
    "by_currency",
    "format_money",
    "minor_places",
    "minor_unit",
    "parse_money",
    "rounded",
    "to_payable",
]
