"""Exact inference on one layer: a Cholesky factor, and a limit on what one pour can do."""

import numpy as np
from scipy.linalg import cho_factor, cho_solve, solve_triangular

from pricing.estimating.coverage.kernel import Floats, Truths, Whole

# Beyond this many standard deviations from the fit a pour pulls no harder (Huber's proposal).
LIMIT = 2.0
LEAST_TRUST = 0.02
ROUNDS = 25
# The raise of a pour's noise has settled when it changes by less than this share of the noise.
SETTLED = 1e-3


class Posterior:
    """The posterior of a Gaussian process at its observations.

    Parameters
    ----------
    prior : ndarray
        n by n prior covariance of the observed places; it is written over, [-]
    noise : ndarray
        n noise variances, [-]
    values : ndarray
        n values with the mean taken off, [-]
    doubted : ndarray of bool
        Which observations may be doubted: the studio's own, [-]

    An own pour that lies beyond 2 standard deviations of the fit has its noise raised until it
    pulls no harder than one at 2 (iteratively reweighted). The raise is a low-rank change of a
    matrix that is factored once.

    References
    ----------
    P. J. Huber, "Robust estimation of a location parameter", Ann. Math. Statist. 35 (1964) 73-101.
    W. W. Hager, "Updating the inverse of a matrix", SIAM Review 31 (1989) 221-239.
    """

    def __init__(self, prior: Floats, noise: Floats, values: Floats, doubted: Truths) -> None:
        matrix = prior.T  # the same numbers in LAPACK's own order, so that nothing is copied
        matrix[np.diag_indices_from(matrix)] += noise
        self._factor = cho_factor(matrix, lower=True, overwrite_a=True, check_finite=False)
        self._raised = np.zeros(0, dtype=int)
        self._columns = np.zeros((len(values), 0))
        self._small = np.zeros((0, 0))
        self.trust = np.ones(len(values))
        self._solved = self._solve(values)
        self._doubt(noise, self._solved, doubted)

    def mean(self, near: Floats) -> Floats:
        """Return the posterior mean at m places.

        Parameters
        ----------
        near : ndarray
            m by n covariances with the observed places, [-]

        Returns
        -------
        mean : ndarray
            m values, [-]
        """
        return near @ self._solved

    def variance(self, near: Floats, prior: Floats) -> Floats:
        """Return the posterior variance at m places.

        Parameters
        ----------
        near : ndarray
            m by n covariances with the observed places, [-]
        prior : ndarray
            m prior variances, [-]

        Returns
        -------
        variance : ndarray
            m values, none below zero, [-]
        """
        # Half a solve is enough for a quadratic form; the raised noise adds back its low-rank part.
        factor, lower = self._factor
        half: Floats = solve_triangular(factor, near.T, lower=lower, check_finite=False)
        known = np.einsum("nm,nm->m", half, half)
        if self._raised.size:
            through = (near @ self._columns).T
            known -= np.einsum("rm,rm->m", through, np.linalg.solve(self._small, through))
        left: Floats = np.maximum(prior - known, 0.0)
        return left

    def weights(self, near: Floats) -> Floats:
        """Return what each observation counts for in the posterior mean at m places.

        Parameters
        ----------
        near : ndarray
            m by n covariances with the observed places, [-]

        Returns
        -------
        weights : ndarray
            m by n, [-]
        """
        return self._solve(near.T).T

    def _solve(self, right: Floats) -> Floats:
        """Solve with the factored matrix, and the raised noise of doubted pours."""
        return self._correct(cho_solve(self._factor, right, check_finite=False))

    def _correct(self, solved: Floats) -> Floats:
        """Turn a solution without raised noise into the one with it (Woodbury)."""
        if not self._raised.size:
            return solved
        inner = np.linalg.solve(self._small, solved[self._raised])
        return solved - self._columns @ inner

    def _doubt(self, noise: Floats, plain: Floats, doubted: Truths) -> None:
        """Raise the noise of far-off pours until each pulls as hard as one at the limit."""
        extra = np.zeros_like(noise)
        known = np.zeros(noise.size, dtype=bool)
        columns = np.empty((noise.size, noise.size), order="F")
        for _ in range(ROUNDS):
            residual = np.abs(self._solved) * (noise + extra)
            nearness = np.where(doubted, LIMIT * np.sqrt(noise) / np.maximum(residual, 1e-300), 1.0)
            trust = np.clip(nearness, LEAST_TRUST, 1.0)
            wanted = noise * (1 / trust - 1)
            if np.all(np.abs(wanted - extra) <= SETTLED * noise):
                return
            extra, self.trust = wanted, trust
            new = np.flatnonzero((extra > 0) & ~known)
            if new.size:
                columns[:, new] = self._inverse_columns(new)
                known[new] = True
            self._raised = np.flatnonzero(extra)
            self._columns = columns[:, self._raised]
            self._small = np.diag(1 / extra[self._raised]) + self._columns[self._raised]
            self._solved = self._correct(plain)

    def _inverse_columns(self, places: Whole) -> Floats:
        unit = np.zeros((self.trust.size, places.size))
        unit[places, np.arange(places.size)] = 1.0
        columns: Floats = cho_solve(self._factor, unit, check_finite=False)
        return columns
