"""Fitting the model's noise and lengths to a studio, once there are enough pours."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize

from pricing.coverage.kernel import Cells, Settings, covariance
from pricing.coverage.observations import TECHNIQUES, Observation

# Never before so many of a studio's own sessions: a handful of pours can be explained by anything.
FIT_FROM = 30
BOUNDS = {
    "session_sd": (0.05, 0.30),
    "hand_sd": (0.15, 0.60),
    "own_sd": (0.15, 0.70),
    "length": (0.5, 1.6),
}


def fit_settings(observations: Sequence[Observation], settings: Settings | None = None):
    """Fit noise and lengths by the marginal likelihood, within bounds.

    Parameters
    ----------
    observations : sequence of Observation
        Common practice and the studio's own pours, [-]
    settings : Settings or None
        Where to start, and what stands when there are fewer than 30 own pours, [-]

    Returns
    -------
    settings : Settings
        The fitted ones; unchanged when there are too few own pours of every layer, [-]

    References
    ----------
    C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for Machine Learning" (2006), eq. 5.8.
    """
    settings = settings or Settings()
    by_layer: dict[str, list[Observation]] = {}
    for one in observations:
        by_layer.setdefault(one.layer, []).append(one)
    layers = [seen for seen in by_layer.values() if sum(one.own for one in seen) >= FIT_FROM]
    if not layers:
        return settings
    arrays = [_arrays(seen) for seen in layers]
    names = list(BOUNDS)
    lows, highs = np.log(np.array(list(BOUNDS.values()))).T
    start = np.clip(np.log([getattr(settings, name) for name in names]), lows, highs)

    def at(logs):
        return replace(settings, **dict(zip(names, np.exp(logs).tolist(), strict=True)))

    best = minimize(
        lambda logs: sum(_surprise(one, at(logs)) for one in arrays),
        start,
        method="L-BFGS-B",
        bounds=list(zip(lows, highs, strict=True)),
        options={"maxiter": 40},
    )
    return at(np.clip(best.x, lows, highs))


def _arrays(seen):
    own = np.array([one.own for one in seen])
    values = np.array([one.ln_thickness for one in seen])
    common = values[~own] if (~own).any() else values
    return (
        Cells(
            np.array([one.size for one in seen]),
            np.array([TECHNIQUES.index(one.technique) for one in seen]),
            own,
        ),
        values - common.mean(),
        np.array([one.count for one in seen]),
        np.array([one.noise if one.noise is not None else np.nan for one in seen]),
    )


def _surprise(arrays, settings):
    """Return the negative log marginal likelihood of one layer, less its constant."""
    places, values, counts, noise = arrays
    variance = np.where(np.isnan(noise), settings.session_variance(counts), noise**2)
    matrix = covariance(places, places, settings)
    matrix[np.diag_indices_from(matrix)] += variance
    factor = cho_factor(matrix, lower=True, check_finite=False)
    fit = values @ cho_solve(factor, values, check_finite=False)
    return 0.5 * fit + np.log(np.diag(factor[0])).sum()
