"""What a count found against what the books said, and what stock is worth against its cost."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from studio.money import ZERO

# What a difference must pass to be looked at twice: common practice, no source.
FAR_OFF = Decimal("0.20")
# A kitchen scale reads whole grams and a density is known to about this: common practice, no
# source. Less than this of a full bottle is no difference worth a question.
FINE = Decimal("0.02")
# What rounding may come to over the life of a bottle, [currency].
SPECK = Decimal("0.0001")


@dataclass(frozen=True)
class Variance:
    """Expected and counted amounts, [mL, g or items]; what was expected and what the difference
    were worth, [currency]."""

    expected: Decimal
    counted: Decimal
    expected_value: Decimal
    value: Decimal

    @property
    def quantity(self) -> Decimal:
        """Counted less expected, [mL, g or items]: positive when more was there."""
        return self.counted - self.expected

    @property
    def share(self) -> Decimal | None:
        """The difference as a share of what was expected, [-]; None when nothing was."""
        return self.quantity / self.expected if self.expected else None

    def __add__(self, other: "Variance") -> "Variance":
        return Variance(
            self.expected + other.expected,
            self.counted + other.counted,
            self.expected_value + other.expected_value,
            self.value + other.value,
        )


@dataclass(frozen=True)
class VarianceTotals:
    """What the differences were worth together: gains and losses, both positive, [currency]."""

    gains: Decimal
    losses: Decimal

    @property
    def net(self) -> Decimal:
        """Gains less losses, [currency]."""
        return self.gains - self.losses

    @property
    def absolute(self) -> Decimal:
        """Gains and losses together, [currency]: how far the books were off, either way."""
        return self.gains + self.losses


def variance_totals(variances: Iterable[Variance]) -> VarianceTotals:
    """Return what differences were worth, gains and losses apart, so that they cannot hide one
    another.

    Parameters
    ----------
    variances : iterable of Variance
        One a bottle, [mL, g or items; currency]

    Returns
    -------
    totals : VarianceTotals
        Gains and losses, [currency]

    Examples
    --------
    >>> one = Variance(Decimal(250), Decimal(240), Decimal(5), Decimal("-0.2"))
    >>> two = Variance(Decimal(100), Decimal(110), Decimal(3), Decimal("0.3"))
    >>> totals = variance_totals([one, two])
    >>> str(totals.gains), str(totals.losses), str(totals.net), str(totals.absolute)
    ('0.3', '0.2', '0.1', '0.5')
    """
    values = [variance.value for variance in variances]
    return VarianceTotals(
        gains=sum((max(value, ZERO) for value in values), ZERO),
        losses=-sum((min(value, ZERO) for value in values), ZERO),
    )


def is_far_off(expected: Decimal, counted: Decimal, capacity: Decimal) -> bool:
    """Tell whether a count differs so much from the books that it is better weighed again.

    Parameters
    ----------
    expected, counted : Decimal
        What the books say and what was found, [mL, g or items]
    capacity : Decimal
        What a full bottle holds, [mL, g or items]

    Returns
    -------
    far_off : bool
        True beyond 20 % of what was expected, where that is also more than 2 % of a full bottle:
        common practice, no source

    Examples
    --------
    >>> is_far_off(Decimal(100), Decimal(79), Decimal(250))
    True
    >>> is_far_off(Decimal(5), Decimal(3), Decimal(250))
    False
    """
    return abs(counted - expected) > max(expected * FAR_OFF, capacity * FINE)


def is_overfull(counted: Decimal, capacity: Decimal) -> bool:
    """Tell whether more was found than the bottle holds when full.

    Parameters
    ----------
    counted : Decimal
        What was found, [mL, g or items]
    capacity : Decimal
        What a full bottle holds, [mL, g or items]; 0 when it is not known

    Returns
    -------
    overfull : bool
        True beyond 2 % above it: common practice, no source

    Examples
    --------
    >>> [is_overfull(Decimal(ml), Decimal(250)) for ml in (260, 254, 255)]
    [True, False, False]
    """
    return bool(capacity) and counted > capacity * (1 + FINE)


def is_out_of_line(value: Decimal, *costs: Decimal) -> bool:
    """Tell whether stock is worth much less, or much more, than it can have cost.

    Parameters
    ----------
    value : Decimal
        What the stock is worth, [currency]
    costs : Decimal
        What it may have cost, at least one, [currency]

    Returns
    -------
    out_of_line : bool
        True more than 20 % below the least cost or above the most: common practice, no source;
        what is less than a ten-thousandth of the currency is rounding

    Examples
    --------
    >>> [is_out_of_line(Decimal(value), Decimal(5), Decimal(8)) for value in ("4.5", "9.5")]
    [False, False]
    >>> [is_out_of_line(Decimal(value), Decimal(5), Decimal(8)) for value in ("3.9", "9.7")]
    [True, True]
    """
    least, most = min(costs) * (1 - FAR_OFF) - SPECK, max(costs) * (1 + FAR_OFF) + SPECK
    return not least <= value <= most
