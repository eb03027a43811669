"""Whether paint is dry by its weight: the better test than any table of days."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from inventory.mixing.proportions.amounts import Number
from pricing.estimating.advice import number

# The same within 1 % over 48 hours is dry: common practice, no source. It is 1 % of the paint,
# since a tile weighs many times as much and would hide all that the paint still loses.
SHARE, APART = 0.01, timedelta(hours=48)
# A kitchen scale that shows less costs little; one that shows more cannot tell.
SCALE_G = 0.1
# Wet paint weighs more than water does, so this is the cautious figure.
PAINT_G_PER_ML = 1.0

Reading = tuple[datetime, Number]


def weight_limit(paint_ml: Number) -> float:
    """Return by how much a piece may differ in weight and still be the same, [g].

    Parameters
    ----------
    paint_ml : float or Decimal
        Wet paint that stayed on it, from 0, [mL]

    Returns
    -------
    limit : float
        1 % of the paint, and at least what a scale shows, [g]

    Raises
    ------
    AdviceError
        If it is below zero.

    Examples
    --------
    >>> weight_limit(50), weight_limit(3)
    (0.5, 0.1)
    """
    return max(SHARE * PAINT_G_PER_ML * number(paint_ml, "A volume of paint"), SCALE_G)


def constant_since(readings: Sequence[Reading], limit: float) -> datetime | None:
    """Return when a piece had kept its weight for 48 hours, or None as long as it has not.

    What it weighed before it became constant does not matter; once it changes again, it counts
    anew.

    Parameters
    ----------
    readings : sequence of (datetime, float or Decimal)
        When it was weighed, earliest first, and its weight, [g]
    limit : float
        By how much two readings may differ and still be the same, [g]

    Returns
    -------
    moment : datetime or None
        Of the first reading that lies 48 hours or more after one like it, [-]

    Examples
    --------
    >>> day = [datetime(2026, 4, one) for one in (1, 2, 3, 4, 5)]
    >>> constant_since([(day[0], 212.0), (day[1], 209.1), (day[3], 209.0)], 0.1)
    datetime.datetime(2026, 4, 4, 0, 0)
    >>> constant_since([(day[0], 212.0), (day[1], 209.1), (day[2], 209.0)], 0.1) is None
    True
    """
    same: list[Reading] = []
    for moment, grams in reversed(readings):
        weights = [float(one) for _, one in same] + [float(grams)]
        # Both are read off a scale, and a difference of two such numbers is none of them exactly.
        if max(weights) - min(weights) > limit + 1e-9:
            break
        same.insert(0, (moment, grams))
    return next((moment for moment, _ in same if moment - same[0][0] >= APART), None)


def still_loses(readings: Sequence[Reading], limit: float) -> bool:
    """Tell whether a piece was lighter when it was weighed last than the time before.

    Parameters
    ----------
    readings : sequence of (datetime, float or Decimal)
        When it was weighed, earliest first, and its weight, [g]
    limit : float
        By how much two readings may differ and still be the same, [g]

    Examples
    --------
    >>> still_loses([(datetime(2026, 4, 1), 212), (datetime(2026, 4, 2), 209)], 0.1)
    True
    """
    weights = [float(one) for _, one in readings[-2:]]
    return len(weights) == 2 and weights[0] - weights[1] > limit + 1e-9
