"""The answer: so much, likely between so much and so much, and how far to trust it."""

from dataclasses import dataclass
from math import exp, isfinite

from scipy.special import ndtri

from pricing.estimating.coverage.observations import CoverageError

# One pour in ten takes less than the low figure, one in ten more than the high one.
TENTH = 0.10


@dataclass(frozen=True)
class Forecast:
    """Volume of one layer over ``count`` equal pieces: lognormal.

    Parameters
    ----------
    technique, layer : str
        What is poured, [-]
    count : int
        How many pieces in one session, [-]
    ln_median : float
        Natural logarithm of the median in mL, [-]
    ln_sd : float
        Standard deviation of ln(volume), [-]
    outside_measured : bool
        No pour of this technique near this size is known, [-]
    """

    technique: str
    layer: str
    count: int
    ln_median: float
    ln_sd: float
    outside_measured: bool

    @property
    def median(self) -> float:
        """Half of such sessions take less, [mL]."""
        return exp(self.ln_median)

    @property
    def low(self) -> float:
        """One in ten takes less, [mL]."""
        return self.quantile(TENTH)

    @property
    def high(self) -> float:
        """One in ten takes more, [mL]."""
        return self.quantile(1 - TENTH)

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
        return exp(self.ln_median + self.ln_sd * float(ndtri(share)))


def to_mix(forecast: Forecast, confidence: float = 0.9, cup_loss: float = 0.0) -> float:
    """Return what to mix so as not to run out.

    Parameters
    ----------
    forecast : Forecast
        What will be poured, [-]
    confidence : float
        Chance that it is enough, at least one half, [-]
    cup_loss : float
        Share of a mix that stays in cups and on tools, [-]

    Returns
    -------
    volume_ml : float
        What to mix, cup losses included, [mL]

    Raises
    ------
    CoverageError
        If the chance or the share cannot be.
    """
    if not 0.5 <= confidence < 1:
        raise CoverageError("The chance of having enough lies between 50 % and 99.9 %.")
    if not isfinite(cup_loss) or not 0 <= cup_loss < 1:
        raise CoverageError("What stays in cups is a share from 0 to less than 1.")
    return forecast.quantile(confidence) / (1 - cup_loss)
