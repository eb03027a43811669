"""What older pours taught, in a state that does not grow: one update for each pour that enters."""

from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from scipy.linalg import cholesky, solve_triangular

from pricing.estimating.coverage.kernel import (
    HAND_ALIKE,
    Floats,
    Luck,
    Pairs,
    Places,
    Settings,
    alike,
)
from pricing.estimating.coverage.observations import KINDS, LAYERS, LAYERS_OF

USUAL = Settings()
# Between these, ln(radius in mm) from 1 cm to 2.7 m across, curves are followed at every half of
# the distance over which they change. A size beyond is answered for, and learnt from, by what the
# nearest places say of it.
SMALLEST, LARGEST = 1.6, 7.2
APART = USUAL.length / 2
# Keeps what is known of neighbouring places apart from rounding.
JITTER = 1e-9


@cache
def _grid() -> Places:
    """Return where curves are followed: each layer of each kind of pour, without sides."""
    sizes = np.arange(SMALLEST, LARGEST + APART / 2, APART)
    cells = [
        (kind, LAYERS.index(layer), size)
        for (technique, _), kind in KINDS.items()
        for layer in LAYERS_OF[technique]
        for size in sizes
    ]
    kinds, layers, at = (np.array(column) for column in zip(*cells, strict=True))
    nothing = np.zeros(len(cells))
    return Places(
        sizes=at,
        sides=nothing,
        kinds=kinds,
        layers=layers,
        own=nothing + 1,
        pours=np.full(len(cells), -1),
        counts=nothing + 1,
        sure=nothing > 0,
        rules=np.full(len(cells), -1),
        noise=nothing,
    )


@cache
def _factors() -> tuple[Floats, Floats]:
    """Return the Cholesky factors of the prior covariance on the grid, and of the fading hand's."""
    grid = Pairs(_grid(), _grid(), USUAL).steady
    grid[np.diag_indices_from(grid)] += JITTER
    hand = alike(np.eye(len(LAYERS), dtype=bool), HAND_ALIKE)
    return cholesky(grid, lower=True), cholesky(hand, lower=True)


class Felt:
    """What each weight of a state does at some places: the curves', the sides' and the hand's.

    The weights are independent beforehand, with a variance of 1.

    Parameters
    ----------
    places : Places
        n places, their pours counted from the first after the state, [-]
    """

    def __init__(self, places: Places) -> None:
        curves, hand = _factors()
        near = Pairs(_grid(), places, USUAL).steady
        sides = USUAL.side_sd * places.sides
        faded = places.own * np.exp(-(places.pours + 1) / USUAL.memory)
        self.fading: Floats = hand[places.layers] * faded[:, None]
        self.steady: Floats = np.column_stack(
            [solve_triangular(curves, near, lower=True, check_finite=False).T, sides]
        )

    def at(self, settings: Settings) -> Floats:
        """Return the n by m matrix of it, for the fitted values of some settings."""
        together: Floats = np.hstack([self.steady, settings.fade_sd * self.fading])
        return together

    def change(self, settings: Settings) -> Floats:
        """Return how that matrix changes with ln of fade_sd."""
        together: Floats = np.hstack([0 * self.steady, settings.fade_sd * self.fading])
        return together


class NothingFelt(Felt):
    """As no pour has entered yet: nothing to feel, no weights."""

    def __init__(self, places: Places) -> None:
        self.fading = self.steady = np.zeros((places.sizes.size, 0))


@dataclass(frozen=True)
class State:
    """What the pours that entered taught, with the settings and the trust each entered with.

    Parameters
    ----------
    mean, covariance : ndarray
        Of the m weights: places on the grid, the sides, and the hand of each layer that fades;
        empty before the first pour, [-]
    distance : float
        How far what entered lay from what was expected, squared, [-]
    honest : float
        How many values entered, a likely slip counting for less, [-]
    pours : int
        How many pours entered, [-]
    poured : ndarray
        How many of each kind, [-]
    ranges : ndarray
        The smallest and largest size of each kind and layer, [-]

    References
    ----------
    J. Quiñonero-Candela and C. E. Rasmussen, "A unifying view of sparse approximate Gaussian
    process regression", J. Mach. Learn. Res. 6 (2005) 1939-1959, for inducing places, a pour being
    a block of its own (PITC); R. E. Kalman, "A new approach to linear filtering and prediction
    problems", J. Basic Eng. 82 (1960) 35-45; J. Hartikainen and S. Särkkä, "Kalman filtering and
    smoothing solutions to temporal Gaussian process regression models" (2010), for what fades.
    """

    mean: Floats
    covariance: Floats
    distance: float
    honest: float
    pours: int
    poured: Floats
    ranges: Floats

    def felt(self, places: Places) -> Felt:
        """Return what the weights do at places whose pours count from the first after this."""
        return Felt(places) if self.pours else NothingFelt(places)

    @cached_property
    def known(self) -> Floats:
        """By how much less than before the weights vary; m by m."""
        known: Floats = np.eye(self.mean.size) - self.covariance
        return known

    def after(
        self, places: Places, values: Floats, settings: Settings, chances: Floats, raised: Floats
    ) -> "State":
        """Return the state once some pours have entered, one after the other.

        Parameters
        ----------
        places : Places
            Of whole pours in their order, n values, [-]
        values : ndarray
            ln(thickness) less its mean, [-]
        settings : Settings
            That they are believed with, for good, [-]
        chances, raised : ndarray
            That each value is a slip, and what its variance is raised by for that, [-]

        Returns
        -------
        state : State
            Of the same size, [-]
        """
        at_once = Places(**{**vars(places), "pours": np.full(values.size, -1)})
        of = Felt(at_once)
        felt = of.at(settings)
        own_luck = Pairs(places, places, USUAL).steady - of.steady @ of.steady.T
        own_luck += Luck(places, settings).covariance(settings) + np.diag(raised)
        size = felt.shape[1]
        mean, covariance = self.mean.copy(), self.covariance.copy()
        if not self.pours:
            mean, covariance = np.zeros(size), np.eye(size)
        distance, numbers = self.distance, np.unique(places.pours)
        for number in numbers:
            rows = np.flatnonzero(places.pours == number)
            _fade(mean, covariance)
            here, both = felt[rows], covariance @ felt[rows].T
            lower = cholesky(here @ both + own_luck[np.ix_(rows, rows)], lower=True)
            off = solve_triangular(lower, values[rows] - here @ mean, lower=True)
            gain = solve_triangular(lower, both.T, lower=True)
            mean += off @ gain
            covariance -= gain.T @ gain
            distance += float(off @ off)
        return State(
            mean=mean,
            covariance=(covariance + covariance.T) / 2,
            distance=distance,
            honest=self.honest + float((1 - chances).sum()),
            pours=self.pours + numbers.size,
            poured=self.poured + _counted(places),
            ranges=wider(self.ranges, places),
        )


def _fade(mean: Floats, covariance: Floats) -> None:
    """Let a pour pass: a part of the hand is forgotten, and as much is new. In place."""
    kept, hand = np.exp(-1 / USUAL.memory), slice(-len(LAYERS), None)
    mean[hand] *= kept
    covariance[hand] *= kept
    covariance[:, hand] *= kept
    covariance[hand, hand] += (1 - kept**2) * np.eye(len(LAYERS))


def _counted(places: Places) -> Floats:
    firsts = np.unique(places.pours, return_index=True)[1]
    counts: Floats = np.bincount(places.kinds[firsts], minlength=len(KINDS)).astype(float)
    return counts


def wider(ranges: Floats, places: Places) -> Floats:
    """Return ranges of sizes with some places in them.

    Parameters
    ----------
    ranges : ndarray
        As in `State`, [-]
    places : Places
        Of common practice or the studio's own, [-]

    Returns
    -------
    ranges : ndarray
        No narrower, [-]
    """
    ranges = ranges.copy()
    np.minimum.at(ranges[..., 0], (places.kinds, places.layers), places.sizes)
    np.maximum.at(ranges[..., 1], (places.kinds, places.layers), places.sizes)
    return ranges


NOTHING = State(
    mean=np.zeros(0),
    covariance=np.zeros((0, 0)),
    distance=0.0,
    honest=0.0,
    pours=0,
    poured=np.zeros(len(KINDS)),
    ranges=np.full((len(KINDS), len(LAYERS), 2), [np.inf, -np.inf]),
)
