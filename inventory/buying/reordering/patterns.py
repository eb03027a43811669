"""How a material is used: how much, how unevenly, how often, and what such use is called."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from statistics import fmean, pstdev

from inventory.buying.reordering.limits import DemandError

# Fewer days of use than this say nothing of a rhythm.
FEWEST_USES = 3
# Cut-offs of Syntetos, Boylan and Croston (2005): days from one use to the next, and the squared
# coefficient of variation of what is used.
INTERMITTENT_FROM_DAYS = 1.32
UNEVEN_FROM = 0.49
CLASSES = ("smooth", "intermittent", "erratic", "lumpy", "unknown")


@dataclass(frozen=True)
class Pattern:
    """How a material was used in so many days; amounts in [mL, g or items].

    ``kind`` is ``"smooth"``, ``"intermittent"``, ``"erratic"``, ``"lumpy"``, or ``"unknown"`` with
    fewer than three days of use. ``days_between`` is the mean number of days from one day of use
    to the next, and ``variation`` the squared coefficient of variation of the amounts used, [-].
    """

    kind: str
    uses: int
    days: float
    mean_per_day: float
    sd_per_day: float
    mean_use: float
    days_between: float
    variation: float


def pattern(uses: Sequence[float], days: float) -> Pattern:
    """Return how a material was used, and the class of demand that is.

    Parameters
    ----------
    uses : sequence of float
        Total of each day on which any was used, all positive, [mL, g or items]
    days : float
        Length of the period in which those uses fell, [days]

    Returns
    -------
    pattern : Pattern
        Mean and standard deviation of a day (days without use count as nothing), mean of a use,
        [mL, g or items]; the interval, [days]; variation and class, [-]. Deviations are those of
        the whole population, as the period is all there is on record.

    Raises
    ------
    DemandError
        If a use or the period is not positive.

    Examples
    --------
    Three uses of 10, 20 and 30 in twelve days: one in 4 days, of 20 on average; the variance of
    the uses is 200/3, so its share of 20 squared is 1/6.

    >>> found = pattern([10, 20, 30], 12)
    >>> found.kind, found.days_between, round(found.variation, 4)
    ('intermittent', 4.0, 0.1667)

    References
    ----------
    A. A. Syntetos, J. E. Boylan and J. D. Croston, "On the categorization of demand patterns",
    J. Oper. Res. Soc. 56 (2005) 495-503: cut-offs 1.32 and 0.49.
    """
    sizes, period = [float(use) for use in uses], float(days)
    if period <= 0 or any(size <= 0 for size in sizes):
        raise DemandError("Give uses of more than zero each, in a period of some days.")
    period = max(period, len(sizes))
    mean = sum(sizes) / period
    second = sum(size**2 for size in sizes) / period
    mean_use = fmean(sizes) if sizes else 0.0
    variation = (pstdev(sizes) / mean_use) ** 2 if sizes else 0.0
    between = period / len(sizes) if sizes else inf
    return Pattern(
        _kind(len(sizes), between, variation),
        len(sizes),
        period,
        mean,
        max(second - mean**2, 0.0) ** 0.5,
        mean_use,
        between,
        variation,
    )


def _kind(count: int, between: float, variation: float) -> str:
    if count < FEWEST_USES:
        return "unknown"
    rare, uneven = between > INTERMITTENT_FROM_DAYS, variation > UNEVEN_FROM
    if rare:
        return "lumpy" if uneven else "intermittent"
    return "erratic" if uneven else "smooth"
