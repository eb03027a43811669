"""Money as exact ``Decimal`` amounts, in the studio's currency.

Everything here is pure. A refusal is a :class:`MoneyError` whose text is one sentence.
"""

from studio.money.rounding import (
    MINOR_UNITS,
    VALUE_PLACES,
    ZERO,
    MoneyError,
    allocate,
    minor_places,
    minor_unit,
    to_payable,
)
from studio.money.text import format_money, parse_money

__all__ = [
    "MINOR_UNITS",
    "VALUE_PLACES",
    "ZERO",
    "MoneyError",
    "allocate",
    "format_money",
    "minor_places",
    "minor_unit",
    "parse_money",
    "to_payable",
]
