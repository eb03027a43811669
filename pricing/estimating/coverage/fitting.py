"""Fitting the model's noise and lengths to a studio, once there are enough pours."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize

from pricing.estimating.coverage.kernel import Floats, Settings, covariance
from pricing.estimating.coverage.layer import Layer
from pricing.estimating.coverage.observations import Observation

# Never before so many of a studio's own sessions: a handful of pours can be explained by anything.
FIT_FROM = 30
BOUNDS = {
    "session_sd": (0.04, 0.30),
    "piece_sd": (0.04, 0.30),
    "hand_sd": (0.15, 0.60),
    "own_sd": (0.15, 0.80),
    "length": (0.5, 1.6),
}


def fit_settings(observations: Sequence[Observation], settings: Settings | None = None) -> Settings:
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

    Notes
    -----
    Pours that are doubted from the start keep their raised noise, so that a spilled cup does not
    pass for a careless hand.

    References
    ----------
    C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for Machine Learning" (2006),
    eq. 5.8.
    """
    settings = settings or Settings()
    by_layer: dict[str, list[Observation]] = {}
    for one in observations:
        by_layer.setdefault(one.layer, []).append(one)
    layers = [
        Layer(name, seen, settings)
        for name, seen in by_layer.items()
        if sum(one.own for one in seen) >= FIT_FROM
    ]
    if not layers:
        return settings
    names = list(BOUNDS)
    lows, highs = np.log(np.array(list(BOUNDS.values()))).T
    start = np.clip(np.log([getattr(settings, name) for name in names]), lows, highs)

    def at(logs: Floats) -> Settings:
        return replace(settings, **dict(zip(names, np.exp(logs).tolist(), strict=True)))

    best = minimize(
        lambda logs: sum(_surprise(layer, at(logs)) for layer in layers),
        start,
        method="L-BFGS-B",
        bounds=list(zip(lows, highs, strict=True)),
        options={"maxiter": 40},
    )
    return at(np.clip(best.x, lows, highs))


def _surprise(layer: Layer, settings: Settings) -> float:
    """Return the negative log marginal likelihood of one layer, less its constant."""
    matrix = covariance(layer.places, layer.places, settings)
    matrix[np.diag_indices_from(matrix)] += layer.noise(settings) + layer.raised
    factor = cho_factor(matrix, lower=True, overwrite_a=True, check_finite=False)
    values = layer.values - layer.mean
    fit = values @ cho_solve(factor, values, check_finite=False)
    return float(0.5 * fit + np.log(np.diag(factor[0])).sum())
