"""Reclaimed paint: run-off kept for later base coats."""

from dataclasses import dataclass
from decimal import Decimal

from inventory.mixing.proportions.amounts import positive
from inventory.mixing.proportions.errors import MixingError


@dataclass(frozen=True)
class Reclaimed:
    """How much of a need kept run-off covers, what is mixed fresh, what is left over, [mL]."""

    reclaimed_ml: Decimal
    fresh_ml: Decimal
    left_ml: Decimal


def use_reclaimed(
    need_ml: Decimal, reclaimed_ml: Decimal, most_share: Decimal = Decimal(1)
) -> Reclaimed:
    """Return how far kept run-off goes towards a base coat.

    Parameters
    ----------
    need_ml : Decimal
        Base coat needed, above zero, [mL]
    reclaimed_ml : Decimal
        Reclaimed paint at hand, from 0, [mL]
    most_share : Decimal
        Largest share of the coat that may be reclaimed, from 0 to 1, [-]

    Returns
    -------
    reclaimed : Reclaimed
        Reclaimed and fresh, adding up to the need, and what is left in the pot, [mL]

    Raises
    ------
    MixingError
        If the need is not above zero, or something else is out of its range.

    Examples
    --------
    >>> used = use_reclaimed(Decimal(300), Decimal(120))
    >>> used.reclaimed_ml, used.fresh_ml, used.left_ml
    (Decimal('120'), Decimal('180'), Decimal('0'))
    """
    positive(need_ml, "A need")
    if reclaimed_ml:
        positive(reclaimed_ml, "Reclaimed paint")
    if not 0 <= most_share <= 1:
        raise MixingError("The share that may be reclaimed is from 0 to 1.")
    used = min(reclaimed_ml, need_ml * most_share)
    return Reclaimed(used, need_ml - used, reclaimed_ml - used)
