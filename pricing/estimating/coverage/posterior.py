"""The posterior of a Gaussian process, with the pours that are likely slips counting for less."""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from scipy.linalg import cho_factor, cho_solve, solve_triangular

from pricing.estimating.coverage.kernel import (
    Floats,
    Luck,
    Pairs,
    Places,
    Settings,
    Truths,
    Whole,
)
from pricing.estimating.coverage.state import NOTHING, State

# The density of ln(thickness) under which a pour looks more like a slip than like a pour.
SLIP_DENSITY = 0.01
# Rounds in which chances of slips and the rest settle on each other, and to within what; each goes
# half of the way, so that two pours of which one must be a slip do not take turns.
ROUNDS, SETTLED = 12, 0.01
# A slip is never surer than this.
SUREST = 0.999
# What is known of the scale of all variances beforehand counts as so many halves of observations.
SCALE_WORTH = 6.0


@dataclass(frozen=True)
class Posterior:
    """What follows from values at places.

    Parameters
    ----------
    places : Places
        Where they were seen, n of them, at least one, [-]
    values : ndarray
        ln(thickness) less its mean, [-]
    settings : Settings
        Of the model, [-]
    raised : ndarray
        What the variance of each value is raised by, since it may be a slip, [-]
    before : State
        What was poured before, [-]

    References
    ----------
    C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for Machine Learning" (2006),
    alg. 2.1 and eq. 5.10 to 5.12; A. Shah, A. G. Wilson and Z. Ghahramani, "Student-t processes as
    alternatives to Gaussian processes" (2014), for the scale.
    """

    places: Places
    values: Floats
    settings: Settings
    raised: Floats = field(default_factory=lambda: np.zeros(0))
    before: State = NOTHING

    def doubting(self, raised: Floats) -> "Posterior":
        """Return the posterior of the same values, their variances raised by so much."""
        other = replace(self, raised=raised)
        for name in ("_felt", "_honest"):
            other.__dict__[name] = getattr(self, name)
        return other

    @cached_property
    def _felt(self) -> Floats:
        return self.before.felt(self.places).at(self.settings)

    @cached_property
    def _honest(self) -> Floats:
        """The covariance of the values if none is a slip, given what was poured before."""
        matrix = Pairs(self.places, self.places, self.settings).covariance(self.settings)
        matrix += Luck(self.places, self.settings).covariance(self.settings)
        matrix -= self._felt @ self.before.known @ self._felt.T
        return matrix

    @cached_property
    def _factor(self) -> tuple[Floats, bool]:
        matrix = self._honest.copy()
        matrix[np.diag_indices_from(matrix)] += self.raised if self.raised.size else 0.0
        lower: Floats = cho_factor(matrix, lower=True, overwrite_a=True, check_finite=False)[0]
        return lower, True

    @cached_property
    def _surprises(self) -> Floats:
        """The values, less what was expected of them."""
        surprises: Floats = self.values - self._felt @ self.before.mean
        return surprises

    @cached_property
    def solved(self) -> Floats:
        """The surprises, solved with their covariance; n values."""
        answer: Floats = cho_solve(self._factor, self._surprises, check_finite=False)
        return answer

    @cached_property
    def distance(self) -> float:
        """How far the values lie from what was expected, squared, [-]."""
        return float(self._surprises @ self.solved)

    def means(self, places: Places) -> Floats:
        """Return the posterior mean at m places, [-]."""
        return self.mean_and_halves(places)[0]

    def mean_and_halves(self, places: Places) -> tuple[Floats, Floats, Floats]:
        """Return the posterior mean at m places, and halves of what is known of their covariance.

        Parameters
        ----------
        places : Places
            Where it is asked, [-]

        Returns
        -------
        mean, some, others : ndarray
            m values, and two matrices of m columns whose product, the first turned, is what the
            prior covariance lessens by, [-]
        """
        felt = self.before.felt(places).at(self.settings)
        known = felt @ self.before.known
        near = self._near(places, known)
        lower, _ = self._factor
        halves: Floats = solve_triangular(lower, near.T, lower=True, check_finite=False)
        mean = felt @ self.before.mean + near @ self.solved
        return mean, np.vstack([known.T, halves]), np.vstack([felt.T, halves])

    def weights(self, places: Places) -> Floats:
        """Return what each value counts for in the posterior mean: m places by n, [-]."""
        known = self.before.felt(places).at(self.settings) @ self.before.known
        near = self._near(places, known)
        answer: Floats = cho_solve(self._factor, near.T, check_finite=False)
        return answer.T

    def _near(self, places: Places, known: Floats) -> Floats:
        prior = Pairs(places, self.places, self.settings).covariance(self.settings)
        return prior - known @ self._felt.T

    def left_out(self, which: Whole | None = None) -> tuple[Floats, Floats]:
        """Return residual and variance of each of own values, its whole pour left out.

        Parameters
        ----------
        which : ndarray or None
            The rows that it is wanted of, whole pours; all where it is not said, [-]

        Returns
        -------
        residuals, variances : ndarray
            n values each, a variance being that of an honest pour; zero and one for common
            practice and for what was not asked, [-]
        """
        which = np.arange(self.values.size) if which is None else which
        units = np.eye(self.values.size)[:, which]
        inverse = cho_solve(self._factor, units, check_finite=False)[which]
        residuals, variances = np.zeros(self.values.size), np.ones(self.values.size)
        for some in blocks(self.places[which]):
            rows = which[some]
            of_pours = np.linalg.inv(inverse[some[:, :, None], some[:, None, :]])
            residuals[rows] = np.einsum("bij,bj->bi", of_pours, self.solved[rows])
            variances[rows] = np.einsum("bii->bi", of_pours)
        if self.raised.size:
            variances[which] -= self.raised[which]
        return residuals, variances


def blocks(places: Places) -> list[np.ndarray[tuple[int, int], np.dtype[np.int_]]]:
    """Return the rows of own pours, one array for all pours of one number of layers.

    Parameters
    ----------
    places : Places
        With the rows of a pour beside each other or not, [-]

    Returns
    -------
    blocks : list of ndarray
        Pours by their rows, [-]
    """
    own = np.flatnonzero(places.own > 0)
    order = own[np.argsort(places.pours[own], kind="stable")]
    starts = np.flatnonzero(np.diff(places.pours[order], prepend=-1))
    lengths = np.diff(starts, append=order.size)
    return [
        order[starts[lengths == length][:, None] + np.arange(length)]
        for length in np.unique(lengths)
    ]


def doubted(
    posterior: Posterior, chances: Floats | None = None, asked: Truths | None = None
) -> tuple[Floats, Floats]:
    """Return the chance that each value is a slip, and what its variance is raised by for that.

    The chance is worked out with the whole pour left out, since the layers of a slip would vouch
    for each other. The raised variance brings the value's gain down to its chance of being honest.

    Parameters
    ----------
    posterior : Posterior
        Of the values; it begins with what they are raised by there, [-]
    chances : ndarray or None
        What is known of them; nothing where it is not said, [-]
    asked : ndarray or None
        Which to look at, whole pours, the others staying as they are; all where it is not said, [-]

    Returns
    -------
    chances, raised : ndarray
        n values each, zero for common practice and for what is sure, [-]
    """
    size = posterior.values.size
    asked = np.ones(size, dtype=bool) if asked is None else asked
    which, doubtful = np.flatnonzero(asked), asked & ~posterior.places.sure
    chances = np.zeros(size) if chances is None else chances
    raised = posterior.raised if posterior.raised.size else np.zeros(size)
    for _ in range(ROUNDS if doubtful.any() else 0):
        residuals, variances = posterior.doubting(raised).left_out(which)
        honest = np.exp(-0.5 * residuals**2 / variances) / np.sqrt(2 * np.pi * variances)
        before = raised / (variances + raised)
        found = np.minimum(SLIP_DENSITY / (SLIP_DENSITY + honest), SUREST)
        chances = np.where(doubtful, (before + found) / 2, np.where(asked, 0.0, chances))
        raised = np.where(asked, variances * chances / (1 - chances), raised)
        if np.abs(found - before)[doubtful].max() < SETTLED:
            break
    return chances, raised
