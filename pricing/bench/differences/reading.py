"""Counts of each band, and a sceptical estimate of how much two bands differ; a pour is the unit.

Pieces of one pour share cup, room and hand, so that they are no witnesses of their own: a pour
counts once, with the share of its pieces that are good, or the mean of its ratings. The spread of
pours within a side is drawn towards one fixed beforehand, for few pours tell little of it (G. K.
Smyth, Linear models and empirical Bayes methods, Stat. Appl. Genet. Mol. Biol. 3, 2004, art. 3).
The difference itself is nothing to speak of or a real one, each a normal around 0 (E. I. George and
R. E. McCulloch, Variable selection via Gibbs sampling, JASA 88, 1993, 881–889); how likely a real
one is follows from how many questions are asked, so that “none at all is real” is as likely for
many as for one (P. H. Westfall, W. O. Johnson and J. M. Utts, A Bayesian perspective on the
Bonferroni adjustment, Biometrika 84, 1997, 419–427). All sources from memory.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist, fmean

from pricing.bench.differences.questions import QUESTIONS, Question, Seen

LEAST_POURS, LEAST_DAYS = 3, 2
# Of a share: how pours of one side usually spread, and for how many pours that belief counts.
SPREAD, SPREAD_WEIGHT = 0.3, 4
# How widely differences lie that are nothing to speak of, and real ones.
SLIGHT, REAL = 0.015, 0.3
# How likely it is, beforehand, that nothing of all that is asked makes a difference.
NONE_AT_ALL = 0.98
LOW, HIGH = 0.1, 0.9  # of the 80 % range
BEST, RATINGS = 5, 4  # the best rating, and how far it lies above the worst
HALVINGS = 40


@dataclass(frozen=True)
class Estimate:
    """How much better the first side came out, [share of one], and the 80 % range of that."""

    middle: float
    low: float
    high: float

    @property
    def is_told(self) -> bool:
        """Whether the range leaves out that there is no difference."""
        return self.low > 0 or self.high < 0

    def times(self, scale: float, places: int = 0) -> str:
        """Write it as so many of a scale, with its range.

        >>> Estimate(0.084, -0.02, 0.211).times(100)
        '+8 (−2 to +21)'
        >>> Estimate(-0.001, -0.02, 0.02).times(100)
        '0 (−2 to +2)'
        """
        # Added to 0, a zero loses its sign.
        figures = [round(one * scale, places) + 0 for one in (self.middle, self.low, self.high)]
        middle, low, high = (
            (f"{one:+.{places}f}" if one else "0").replace("-", "−") for one in figures
        )
        return f"{middle} ({low} to {high})"


@dataclass(frozen=True)
class Side:
    """One band of a question: its pours, how many of their pieces were judged, and were good [-].

    ``days`` are on how many days [d] they were poured, ``rating`` the mean of theirs, 1 to 5 [-].
    """

    band: str
    pours: int
    days: int
    good: int
    judged: int
    rating: float | None

    @property
    def is_enough(self) -> bool:
        """Whether there are pours enough to say something, on days enough."""
        return self.pours >= LEAST_POURS and self.days >= LEAST_DAYS


@dataclass(frozen=True)
class Answer:
    """One question: the bands that have pours, the two sides, and what is estimated, if it is.

    ``unknown`` counts the pours that do not answer it [-]. ``good`` is of the share of good pieces,
    ``rated`` of ratings as a share of the way from 1 to 5; None while it is too early to say.
    """

    question: Question
    sides: tuple[Side, Side]
    more: tuple[Side, ...]
    unknown: int
    good: Estimate | None
    rated: Estimate | None

    @property
    def bands(self) -> tuple[Side, ...]:
        """The two sides, and what more there is."""
        return (*self.sides, *self.more)

    @property
    def lacks(self) -> tuple[tuple[str, int, int], ...]:
        """The sides with too little: (band, pours to pour, on so many days more)."""
        return tuple(
            (one.band, max(LEAST_POURS - one.pours, 0), max(LEAST_DAYS - one.days, 0))
            for one in self.sides
            if not one.is_enough
        )


def answers(pours: Iterable[Seen], groups: int = 1) -> tuple[Answer, ...]:
    """Answer every question from the judged pours of one like group.

    Parameters
    ----------
    pours : iterable of Seen
        Any number of pours [-] of one technique, palette and size; those without judged pieces
        are left out.
    groups : int
        Of how many such groups the studio asks [-], this one included.
    """
    rows = [one for one in pours if one.judged]
    return tuple(_answer(question, rows, 2 * len(QUESTIONS) * groups) for question in QUESTIONS)


def estimate(first: Sequence[float], second: Sequence[float], asked: int) -> Estimate:
    """Estimate how much more the first pours have than the second, [share of one].

    Raises `ValueError` for fewer than two pours a side.

    Parameters
    ----------
    first, second : sequence of float
        A figure for each pour of a side, from 0 to 1 [share of one].
    asked : int
        How many such questions are asked in all [-].

    >>> found = estimate([1, 1, 0.75], [0.5, 0.5, 0.25], asked=14)
    >>> found.low < 0 < found.middle < 0.1
    True
    """
    parts = posterior(first, second, asked)
    middle = sum(weight * one.mean for weight, one in parts)
    return Estimate(middle, _quantile(parts, LOW), _quantile(parts, HIGH))


def posterior(
    first: Sequence[float], second: Sequence[float], asked: int
) -> tuple[tuple[float, NormalDist], ...]:
    """Return what is believed of the difference: (weight, normal) of a slight and of a real one."""
    found, luck = fmean(first) - fmean(second), sqrt(_variance(first, second))
    real = 1 - NONE_AT_ALL ** (1 / asked)
    parts = []
    for weight, width in ((1 - real, SLIGHT), (real, REAL)):
        seen = NormalDist(0, sqrt(width**2 + luck**2)).pdf(found)
        drawn = width**2 / (width**2 + luck**2)
        parts.append((weight * seen, NormalDist(drawn * found, sqrt(drawn) * luck)))
    whole = sum(weight for weight, _ in parts)
    return tuple((weight / whole, one) for weight, one in parts)


def _variance(first: Sequence[float], second: Sequence[float]) -> float:
    """Return the variance of the difference of two means, with what is unsure in it."""
    if min(len(first), len(second)) < 2:
        raise ValueError("Two pours a side, at the least, are needed to compare them.")
    squares = sum((one - fmean(side)) ** 2 for side in (first, second) for one in side)
    free = len(first) + len(second) - 2 + SPREAD_WEIGHT
    spread = (squares + SPREAD_WEIGHT * SPREAD**2) / free
    return spread * (1 / len(first) + 1 / len(second)) * free / (free - 2)


def _quantile(parts: Sequence[tuple[float, NormalDist]], level: float) -> float:
    low = min(one.inv_cdf(level) for _, one in parts)
    high = max(one.inv_cdf(level) for _, one in parts)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        below = sum(weight * one.cdf(middle) for weight, one in parts)
        low, high = (middle, high) if below < level else (low, middle)
    return (low + high) / 2


def _answer(question: Question, pours: Sequence[Seen], asked: int) -> Answer:
    by_band: dict[str | None, list[Seen]] = {band: [] for band in (*question.bands, None)}
    for one in pours:
        by_band[question.band(one)].append(one)
    first, second, *more = (_side(band, by_band[band]) for band in question.bands)
    good = rated = None
    if first.is_enough and second.is_enough:
        left, right = (by_band[band] for band in question.sides)
        good = estimate([one.share for one in left], [one.share for one in right], asked)
        rated_left, rated_right = _ratings(left), _ratings(right)
        if min(len(rated_left), len(rated_right)) >= LEAST_POURS:
            rated = estimate(rated_left, rated_right, asked)
    return Answer(
        question=question,
        sides=(first, second),
        more=tuple(one for one in more if one.pours),
        unknown=len(by_band[None]),
        good=good,
        rated=rated,
    )


def _side(band: str, pours: Sequence[Seen]) -> Side:
    ratings = [one.rating for one in pours if one.rating is not None]
    return Side(
        band=band,
        pours=len(pours),
        days=len({one.day for one in pours}),
        good=sum(one.good for one in pours),
        judged=sum(one.judged for one in pours),
        rating=fmean(ratings) if ratings else None,
    )


def _ratings(pours: Sequence[Seen]) -> list[float]:
    """Return the ratings of pours that have one, as a share of the way from worst to best."""
    return [1 - (BEST - one.rating) / RATINGS for one in pours if one.rating is not None]
