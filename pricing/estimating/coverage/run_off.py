"""Where the paint goes: onto the piece, back into the pot, or lost."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pricing.estimating.coverage.observations import LAYERS_OF, CoverageError
from pricing.techniques import facts_of

# Share of what is poured, whatever the technique: common practice, no source.
STARTING_LOST = 0.15
# How many pours the starting shares are worth.
WORTH = 3.0


@dataclass(frozen=True)
class Fractions:
    """Shares of what is poured.

    Parameters
    ----------
    kept : float
        Scraped back for later base coats, [-]
    lost : float
        Dripped off or wiped away, [-]
    pours : int
        How many of the studio's own pours they rest on, [-]
    """

    kept: float
    lost: float
    pours: int

    @property
    def on_piece(self) -> float:
        """Share that stays on the piece, [-]."""
        return 1 - self.kept - self.lost


def learn_fractions(
    technique: str, kept: Iterable[float] = (), lost: Iterable[float] = ()
) -> Fractions:
    """Return a technique's run-off, from common practice and the studio's own logs.

    Parameters
    ----------
    technique : str
        What is poured, [-]
    kept, lost : iterable of float
        One share for each pour on which it was measured, from 0 to 1, [-]

    Returns
    -------
    fractions : Fractions
        Each the mean of the logs and of the starting share, which counts as three pours, [-]

    Raises
    ------
    CoverageError
        If there is no such technique or a share is not between 0 and 1.

    References
    ----------
    The posterior mean of a share under a beta prior worth so many observations.
    """
    if technique not in LAYERS_OF:
        raise CoverageError(f"“{technique}” is not a technique.")
    kept, lost = list(kept), list(lost)
    if not all(0 <= share <= 1 for share in [*kept, *lost]):
        raise CoverageError("A share of what was poured lies between 0 and 1.")
    kept_mean = _mean(facts_of(technique).kept, kept)
    lost_mean = min(_mean(STARTING_LOST, lost), 1 - kept_mean)
    return Fractions(kept_mean, lost_mean, max(len(kept), len(lost)))


def _mean(start: float, shares: Sequence[float]) -> float:
    return (WORTH * start + sum(shares)) / (WORTH + len(shares))
