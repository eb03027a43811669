"""Where the paint goes: onto the piece, back into the pot or the bottle, or lost."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal

from pricing.estimating.coverage.observations import LAYERS_OF, CoverageError
from pricing.techniques import facts_of

# Share of what is poured, whatever the technique: common practice, no source.
STARTING_LOST = 0.15
# What stays over of a mix is thrown away, until the studio's logs say otherwise: our guess, no
# source.
STARTING_SAVED = 0.0
# The film up to which paint with a pouring medium dries whole: paint makers' published guidance.
MOST_FILM_MM = 3.0
# How many pours the starting shares are worth.
WORTH = 3.0
# From so many logged pours on, what is kept is no guess any more.
KNOWN_FROM = 10
PLACES = Decimal("0.0001")


@dataclass(frozen=True)
class Fractions:
    """Shares of what is poured.

    Parameters
    ----------
    kept : float
        Run-off kept for later base coats, [-]
    lost : float
        Dripped off or wiped away, [-]
    pours : int
        How many of the studio's own pours they rest on, [-]
    measured : int
        On how many of them run-off was scraped back and measured, [-]
    dripped : float
        What is lost where the rest of the run-off is scraped back, [-]
    """

    kept: float
    lost: float
    pours: int
    measured: int = 0
    dripped: float = STARTING_LOST

    @property
    def is_guess(self) -> bool:
        """Whether too few pours were measured for it to be more than a guess, [-]."""
        return self.measured < KNOWN_FROM

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
    scraped = sum(share > 0 for share in kept)
    return Fractions(kept_mean, lost_mean, max(len(kept), len(lost)), scraped)


def shed(technique: str, kept: float, face_film_mm: float) -> tuple[float, float]:
    """Return what of a pour was scraped back and lost, as far as its log tells.

    Parameters
    ----------
    technique : str
        What is poured, [-]
    kept : float
        Share of it that was scraped back, from 0 to 1, [-]
    face_film_mm : float
        Film on the face if nothing had run off, from 0, [mm]

    Returns
    -------
    kept, lost : float
        Where nothing was scraped back all that ran off is lost: as much as is commonly kept and
        lost together or, if that is more, what must have gone for no more than 3 mm to stay: our
        guess, no source, [-]

    Examples
    --------
    >>> straight = list(LAYERS_OF)[3]
    >>> shed(straight, 0.0, 2.0)
    (0.0, 0.3)
    >>> shed(straight, 0.0, 6.0)
    (0.0, 0.5)
    >>> shed(straight, 0.25, 6.0)
    (0.25, 0.15)
    """
    if kept:
        return kept, min(STARTING_LOST, 1 - kept)
    common = facts_of(technique).kept + STARTING_LOST
    return 0.0, max(common, 1 - MOST_FILM_MM / face_film_mm if face_film_mm else 0.0)


@dataclass(frozen=True)
class KeptLayer:
    """What the log of a pour says of one layer, shares of one.

    Parameters
    ----------
    from_bottles : float
        Share of what was mixed that came out of bottles of mix, in which the rest stays, [-]
    scraped : float
        Share of what was poured that was scraped back, [-]
    """

    from_bottles: float
    scraped: float


@dataclass(frozen=True)
class Keeping:
    """What a studio keeps of the paint that it mixes in one technique.

    Parameters
    ----------
    saved : mapping of str to Decimal
        By layer, the share of what is mixed and not poured that stays in a bottle, what cups take
        left out, [-]
    scraped : mapping of str to Decimal
        By layer, the share of what is poured that is scraped back, [-]
    pours : int
        How many of the studio's own pours it rests on, [-]
    """

    saved: Mapping[str, Decimal] = field(default_factory=dict)
    scraped: Mapping[str, Decimal] = field(default_factory=dict)
    pours: int = 0

    @property
    def is_guess(self) -> bool:
        """Whether it rests on too few pours to be known."""
        return self.pours < KNOWN_FROM


def learn_keeping(technique: str, pours: Sequence[Mapping[str, KeptLayer]] = ()) -> Keeping:
    """Return what a studio keeps in a technique, from common practice and its own logs.

    A mix that comes out of a bottle was mixed beforehand, and what is left of it stays there; what
    was mixed for the pour and not poured is thrown away.

    Parameters
    ----------
    technique : str
        What is poured, [-]
    pours : sequence of mappings of str to KeptLayer
        The layers of each pour, those of which nothing was kept as well, [-]

    Returns
    -------
    keeping : Keeping
        Each the mean of the logs and of the starting share, which counts as three pours, [-]

    Raises
    ------
    CoverageError
        If there is no such technique or a share is not between 0 and 1.

    Examples
    --------
    One pour, its base out of a bottle and a fifth of it scraped back: (3 · 0.15 + 0.2) / 4.

    >>> keeping = learn_keeping(list(LAYERS_OF)[2], [{"base": KeptLayer(1.0, 0.2)}])
    >>> [str(one["base"]) for one in (keeping.saved, keeping.scraped)]
    ['0.2500', '0.1625']
    >>> [str(one["colours"]) for one in (keeping.saved, keeping.scraped)]
    ['0.0000', '0.1500']

    References
    ----------
    The posterior mean of a share under a beta prior worth so many observations.
    """
    if technique not in LAYERS_OF:
        raise CoverageError(f"“{technique}” is not a technique.")
    saved: dict[str, Decimal] = {}
    scraped: dict[str, Decimal] = {}
    for layer in LAYERS_OF[technique]:
        seen = [one[layer] for one in pours if layer in one]
        shares = [share for one in seen for share in (one.from_bottles, one.scraped)]
        if not all(0 <= share <= 1 for share in shares):
            raise CoverageError("A share of what was mixed or poured lies between 0 and 1.")
        saved[layer] = _share(STARTING_SAVED, [one.from_bottles for one in seen])
        scraped[layer] = _share(facts_of(technique).kept, [one.scraped for one in seen])
    return Keeping(saved, scraped, sum(any(layer in one for layer in saved) for one in pours))


def _share(start: float, shares: Sequence[float]) -> Decimal:
    return Decimal(repr(_mean(start, shares))).quantize(PLACES, ROUND_HALF_UP)


def _mean(start: float, shares: Sequence[float]) -> float:
    return (WORTH * start + sum(shares)) / (WORTH + len(shares))
