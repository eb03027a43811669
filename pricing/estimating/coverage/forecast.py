"""The answer: so much, likely between so much and so much, and how far to trust it."""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import exp, inf, isfinite, log

import numpy as np
from scipy.optimize import brentq
from scipy.special import chdtri, ndtr, stdtr, stdtrit

from pricing.estimating.coverage.observations import CoverageError

# One pour in ten takes less than the low figure, one in ten more than the high one.
TENTH = 0.10
# Over how many points of luck and of its scale the chance that all cups suffice is averaged.
POINTS = 24
# Over how many quantiles what is poured is averaged.
LIMITED_POINTS = 48


@dataclass(frozen=True)
class Part:
    """One way a pour may be: its chance, and ln(volume in mL) by median and scale, [-]."""

    chance: float
    ln_median: float
    ln_scale: float


@dataclass(frozen=True)
class Forecast:
    """Volume of one layer, or of several together, over ``count`` equal pieces.

    ln(volume) has a Student-t distribution, or a mixture of such where it was not told what base is
    poured over.

    Parameters
    ----------
    technique : str
        What is poured; empty for several techniques, [-]
    count : int
        How many pieces, [-]
    layer : str
        Which layer; empty for all of them together, [-]
    parts : tuple of Part
        The ways it may be; their chances add up to one, [-]
    freedom : float
        Degrees of freedom; infinite for the normal distribution, [-]
    outside_measured : bool
        No pour of this technique near this size is known, [-]
    """

    technique: str
    count: int
    layer: str
    parts: tuple[Part, ...]
    freedom: float
    outside_measured: bool

    @cached_property
    def median(self) -> float:
        """Half of such sessions take less, [mL]."""
        return self.quantile(0.5)

    @cached_property
    def low(self) -> float:
        """One in ten takes less, [mL]."""
        return self.quantile(TENTH)

    @cached_property
    def high(self) -> float:
        """One in ten takes more, [mL]."""
        return self.quantile(1 - TENTH)

    @property
    def width(self) -> float:
        """How many times the low figure the high one is, [-]."""
        return self.high / self.low

    def quantile(self, share: float) -> float:
        """Return the volume that a share of such sessions stays below.

        Parameters
        ----------
        share : float
            Between 0 and 1, [-]

        Returns
        -------
        volume_ml : float
            The quantile, [mL]

        Raises
        ------
        CoverageError
            If the share is not between 0 and 1.
        """
        if not 0 < share < 1:
            raise CoverageError("A chance lies between 0 and 1.")
        away = float(stdtrit(self.freedom, share))
        points = [part.ln_median + away * part.ln_scale for part in self.parts]
        lowest, highest = min(points), max(points)
        if highest - lowest < 1e-12:
            return exp(lowest)
        return exp(brentq(lambda at: self._below(at) - share, lowest, highest, xtol=1e-12))

    def _below(self, at: float) -> float:
        return sum(
            part.chance * float(stdtr(self.freedom, (at - part.ln_median) / part.ln_scale))
            for part in self.parts
        )


def to_pour(forecast: Forecast, enough_ml: float) -> float:
    """Return what is poured on average where no more than so much can be.

    Parameters
    ----------
    forecast : Forecast
        What would be poured if there were no end of it, [-]
    enough_ml : float
        What there is to pour, above zero, [mL]

    Returns
    -------
    volume_ml : float
        The mean of what is poured, within 0.001 %, [mL]

    Raises
    ------
    CoverageError
        If there is nothing to pour.

    Notes
    -----
    The limited expected value, by Gauss-Legendre over the quantiles below the limit, closer
    together at either end: of Student's distribution it is finite where the mean is not.

    References
    ----------
    S. A. Klugman, H. H. Panjer, G. E. Willmot, Loss Models, app. A.5.1.1, for the lognormal.

    Examples
    --------
    Of a lognormal volume with its median there, 102.02 · Φ(-0.2) + 100 / 2.

    >>> bed = Forecast("", 1, "base", (Part(1.0, log(100), 0.2),), inf, False)
    >>> round(to_pour(bed, 100.0), 2)
    92.92
    """
    if not isfinite(enough_ml) or enough_ml <= 0:
        raise CoverageError("There must be something to pour.")
    points, weights = np.polynomial.legendre.leggauss(LIMITED_POINTS)
    at, step = (points + 1) / 2, weights / 2
    shares, steps = at * at * (3 - 2 * at), step * 6 * at * (1 - at)
    mean = 0.0
    for part in forecast.parts:
        if part.ln_scale == 0:
            mean += part.chance * min(exp(part.ln_median), enough_ml)
            continue
        reached = stdtr(forecast.freedom, (log(enough_ml) - part.ln_median) / part.ln_scale)
        away = stdtrit(forecast.freedom, reached * shares)
        below = reached * (steps @ np.exp(part.ln_median + part.ln_scale * away))
        mean += part.chance * float(below + enough_ml * (1 - reached))
    return mean


def enough_together(
    cups: int, alikeness: float, freedom: float = inf, confidence: float = 0.9
) -> float:
    """Return the chance each of several cups must be enough with, for all of them to be.

    Parameters
    ----------
    cups : int
        How many, at least one, [-]
    alikeness : float
        Mean correlation of ln(volume) between two of them, [-]
    freedom : float
        Degrees of freedom of their common scale, [-]
    confidence : float
        Chance that all of them are enough, at least one half, [-]

    Returns
    -------
    chance : float
        For each cup, from ``confidence`` to 1, [-]

    Raises
    ------
    CoverageError
        If the confidence cannot be.

    Notes
    -----
    With a common scale χ and a common luck u, cups are independent: the mean over both of
    Φ((z·χ − √r·u) / √(1 − r))^cups is the chance that all suffice.

    References
    ----------
    C. W. Dunnett and M. Sobel, "Approximations to the probability integral and certain percentage
    points of a multivariate analogue of Student's t-distribution", Biometrika 42 (1955) 258-260.

    Examples
    --------
    Two cups of independent luck: each must suffice with √0.9.

    >>> round(enough_together(2, 0.0), 4)
    0.9487
    """
    if not 0.5 <= confidence < 1:
        raise CoverageError("The chance of having enough lies between 50 % and 99.9 %.")
    if cups == 1:
        return confidence
    return _enough(cups, round(min(max(alikeness, 0.0), 0.99), 2), round(freedom, 1), confidence)


@lru_cache(maxsize=4096)
def _enough(cups: int, alikeness: float, freedom: float, confidence: float) -> float:
    middles = (np.arange(POINTS) + 0.5) / POINTS
    scales = np.sqrt(chdtri(freedom, middles) / freedom) if isfinite(freedom) else np.ones(1)
    luck, weights = np.polynomial.hermite_e.hermegauss(POINTS)
    weights = weights / weights.sum()

    def short(away: float) -> float:
        reach = np.multiply.outer(away * scales, np.ones(luck.size)) - np.sqrt(alikeness) * luck
        all_enough = ndtr(reach / np.sqrt(1 - alikeness)) ** cups
        return float((all_enough @ weights).mean()) - confidence

    return float(stdtr(freedom, brentq(short, 0.0, 60.0, xtol=1e-6)))


def with_cup_loss(poured_ml: float, cup_loss: float) -> float:
    """Return what to mix so that so much can be poured.

    Parameters
    ----------
    poured_ml : float
        What must come out of the cups, [mL]
    cup_loss : float
        Share of a mix that stays in cups and on tools, [-]

    Returns
    -------
    volume_ml : float
        What to mix, [mL]

    Raises
    ------
    CoverageError
        If the share cannot be.
    """
    if not isfinite(cup_loss) or not 0 <= cup_loss < 1:
        raise CoverageError("What stays in cups is a share from 0 to less than 1.")
    return poured_ml / (1 - cup_loss)
