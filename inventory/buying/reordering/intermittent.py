"""Reorder points for use that comes now and then.

Paint in a small studio is mostly used this way: nothing on most days, then a whole pour at once.
The normal curve is wrong twice for it (it puts mass below zero and misses the jumps), and methods
that smooth the rate (Croston, TSB) give a mean but no quantile. So the demand over the lead time
is taken as a compound Poisson sum: uses arrive at the observed rate, each as large as one of
those observed. Its quantile is computed, not simulated, and needs only a handful of uses, where
counting over past lead times would need hundreds.
"""

from collections.abc import Sequence
from math import sqrt
from statistics import fmean, median

import numpy as np

from inventory.buying.reordering.chances import Chance, expected_of
from inventory.buying.reordering.limits import DemandError, check
from inventory.buying.reordering.points import ReorderPoint

GRID_POINTS = 4096


def reorder_point_intermittent(
    uses: Sequence[float],
    days: float,
    lead_days: float,
    service_level: float,
    lead_sd_days: float = 0.0,
    chances: Sequence[Chance] = (),
) -> ReorderPoint:
    """Return the reorder point for use that comes now and then.

    The number of uses in a lead time is Poisson at the observed rate, or negative binomial when
    the lead time itself varies (as a gamma variable); each use is as large as one of those
    observed. The quantile of their sum is read from its exact distribution on a grid of 4,096
    steps. It is never less than one usual (median) use, since with less on the shelf the next
    piece cannot be made.

    Parameters
    ----------
    uses : sequence of float
        Total of each day on which any was used, all positive, at least one, [mL, g or items]
    days : float
        Length of the period in which those uses fell, [days]
    lead_days : float
        Mean lead time, [days]
    service_level : float
        Chance of lasting through one lead time, from 0.5 and below 1, [-]
    lead_sd_days : float
        Standard deviation of the lead time, [days]
    chances : sequence of Chance
        What open quotes may take during the lead time, [mL, g or items]; each comes whole or not at
        all and is added to the sum with its chance, exactly.

    Returns
    -------
    reorder_point : ReorderPoint
        Quantity and its parts, basis ``"intermittent"``, [mL, g or items]; safety stock is what
        lies above the mean demand over the lead time.

    Raises
    ------
    DemandError
        If there is no use, a use or a period is not positive, or the service level is out of range.

    Examples
    --------
    One item in ten days, ten days of lead time: Poisson with mean 1 stays within 3 in 98.1 %.

    >>> reorder_point_intermittent([1, 1, 1], 30, 10, 0.95).quantity
    3.0

    References
    ----------
    W. Feller, *An Introduction to Probability Theory and Its Applications* I, ch. XII (compound
    Poisson sums and their generating function).
    """
    sizes = [float(use) for use in uses]
    if not sizes or min(sizes) <= 0 or days <= 0:
        raise DemandError("Give at least one use, each more than zero, in a period of some days.")
    check(service_level, lead_days=lead_days, lead_sd_days=lead_sd_days)
    count = len(sizes) / float(days) * float(lead_days)
    quoted = expected_of(chances).mean
    quantile = _compound_quantile(
        sizes, count, _relative(lead_sd_days, lead_days), float(service_level), chances
    )
    demand = count * fmean(sizes)
    quantity = max(quantile, median(sizes))
    return ReorderPoint(
        "intermittent",
        quantity,
        demand,
        quantity - demand - quoted,
        sum(sizes) / float(days),
        float(lead_days),
        float(service_level),
        len(sizes),
        quoted,
    )


def _compound_quantile(
    sizes: Sequence[float],
    count: float,
    relative_sd: float,
    service_level: float,
    chances: Sequence[Chance],
) -> float:
    """Return the quantile of a random number of random sizes and of what may be added to it.

    By Fourier inversion: the transform of a sum of independent amounts is the product of theirs.

    The grid reaches twenty standard deviations above the mean, so that what wraps around is far
    below any service level asked for. Sizes off the grid are split between their neighbours, which
    keeps the mean exact; whole items of a common size fall on the grid.
    """
    second = fmean(size**2 for size in sizes)
    spread = sqrt(count * second + (count * relative_sd * fmean(sizes)) ** 2)
    reach = (
        count * fmean(sizes) + 20 * spread + max(sizes) + sum(chance.quantity for chance in chances)
    )
    step = _step(sizes, reach)
    transform = np.fft.rfft(sum(_on_grid(size, step) for size in sizes) / len(sizes)) - 1
    if relative_sd:
        shape = relative_sd**-2
        total = (1 - count / shape * transform) ** -shape
    else:
        total = np.exp(count * transform)
    for one in chances:
        total = total * (1 + one.chance * (np.fft.rfft(_on_grid(one.quantity, step)) - 1))
    cumulative = np.cumsum(np.fft.irfft(total, GRID_POINTS))
    return round(float(np.argmax(cumulative >= service_level - 1e-12)) * step, 9)


def _on_grid(size: float, step: float) -> np.ndarray:
    """Return the whole chance at one size, split between the two steps beside it."""
    low, part = divmod(size / step, 1.0)
    probability = np.zeros(GRID_POINTS)
    probability[int(low)] = 1 - part
    probability[min(int(low) + 1, GRID_POINTS - 1)] += part
    return probability


def _step(sizes: Sequence[float], reach: float) -> float:
    """Return the grid step: the smallest use divided evenly, so that equal uses are exact."""
    coarse = reach / (GRID_POINTS - 2)
    smallest = min(sizes)
    return smallest / int(smallest / coarse) if smallest > coarse else coarse


def _relative(sd: float, mean: float) -> float:
    return float(sd) / float(mean) if mean else 0.0
