"""The estimator: an exact Gaussian process over ln(wet thickness), layer by layer."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import log, sqrt

import numpy as np

from pricing.coverage.forecast import Forecast, mean_of_pieces
from pricing.coverage.kernel import Cells, Settings, covariance, prior_variance
from pricing.coverage.observations import (
    LAYERS,
    LAYERS_OF,
    TECHNIQUES,
    CoverageError,
    Observation,
    size_of,
)
from pricing.coverage.posterior import Posterior

# A size is measured when a pour lies within this distance in ln(radius): 28 % wider or narrower.
NEAR = 0.25
# Sizes at which the median is looked up so that a larger piece never takes less than a smaller one.
STEPS = np.linspace(-1.2, 0.0, 13)


@dataclass(frozen=True)
class Influence:
    """How much one observation moved an estimate.

    Parameters
    ----------
    observation : Observation
        What was seen, [-]
    weight : float
        Change of ln(median) for each unit the observation lies above what was expected, [-]
    share : float
        Its part of all weight, between 0 and 1, [-]
    trust : float
        1 for an ordinary pour, less for one too far off to be believed outright, [-]
    """

    observation: Observation
    weight: float
    share: float
    trust: float


class Estimator:
    """Forecasts from common practice and a studio's own pours.

    Parameters
    ----------
    observations : sequence of Observation
        What was seen; at least one for every layer, [-]
    settings : Settings
        Standard deviations and length of the model, [-]

    ``ln h = level(technique) + f(size) + g(technique, size) + hand + noise``, each term Gaussian,
    f common to all techniques, the hand common to all the studio's own pours and absent from common
    practice. One factorisation a layer, made when the layer is first asked for.

    References
    ----------
    C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for Machine Learning" (2006), alg. 2.1.
    """

    def __init__(self, observations: Sequence[Observation], settings: Settings | None = None):
        self.settings = settings or Settings()
        self.observations = tuple(observations)
        self._layers: dict[str, _Layer] = {}

    def forecast(self, technique, layer, wetted_area_mm2, count=1):
        """Return the forecast of one layer.

        Parameters
        ----------
        technique, layer : str
            One of `TECHNIQUES` and one of its layers, [-]
        wetted_area_mm2 : float
            Face and painted sides of one piece, [mm2]
        count : int
            Equal pieces poured in one session, [-]

        Returns
        -------
        forecast : Forecast
            The volume over all pieces, [mL]

        Raises
        ------
        CoverageError
            If there is no such technique or layer, or the area or count cannot be.
        """
        return self.forecast_many([(technique, layer, wetted_area_mm2, count)])[0]

    def forecasts(self, technique, wetted_area_mm2, count=1):
        """Return the forecast of every layer of a technique, in the order they are poured.

        Parameters
        ----------
        technique : str
            One of `TECHNIQUES`, [-]
        wetted_area_mm2 : float
            Face and painted sides of one piece, [mm2]
        count : int
            Equal pieces poured in one session, [-]

        Returns
        -------
        forecasts : dict of str to Forecast
            By layer, [mL]

        Raises
        ------
        CoverageError
            If there is no such technique, or the area or count cannot be.
        """
        layers = _layers_of(technique)
        cells = [(technique, layer, wetted_area_mm2, count) for layer in layers]
        return dict(zip(layers, self.forecast_many(cells), strict=True))

    def forecast_many(self, cells):
        """Return a forecast for each of many cells, with one factorisation a layer.

        Parameters
        ----------
        cells : sequence of (str, str, float, int)
            Technique, layer, wetted area of one piece [mm2], and count, [-]

        Returns
        -------
        forecasts : list of Forecast
            In the order of the cells, [mL]

        Raises
        ------
        CoverageError
            If a technique, layer, area or count cannot be.
        """
        by_layer: dict[str, list[int]] = {}
        for place, (technique, layer, _, count) in enumerate(cells):
            if layer not in _layers_of(technique):
                raise CoverageError(f"A {technique} has no layer “{layer}”.")
            if int(count) != count or count < 1:
                raise CoverageError("Pour at least one piece.")
            by_layer.setdefault(layer, []).append(place)
        found: list = [None] * len(cells)  # every place is filled below
        for layer, places in by_layer.items():
            made = self._layer(layer).forecast([cells[place] for place in places])
            for place, forecast in zip(places, made, strict=True):
                found[place] = forecast
        return found

    def why(self, technique, layer, wetted_area_mm2, top=5):
        """Return the observations that weighed most in a forecast, the heaviest first.

        Parameters
        ----------
        technique, layer : str
            What was asked, [-]
        wetted_area_mm2 : float
            Face and painted sides of one piece, [mm2]
        top : int
            How many to return, [-]

        Returns
        -------
        influences : list of Influence
            At most ``top``, [-]

        Raises
        ------
        CoverageError
            If there is no such technique or layer, or the area cannot be.
        """
        if layer not in _layers_of(technique):
            raise CoverageError(f"A {technique} has no layer “{layer}”.")
        return self._layer(layer).why(technique, size_of(wetted_area_mm2), top)

    def measured_range(self, technique, layer):
        """Return the sizes between which a technique's layer has been measured.

        Parameters
        ----------
        technique, layer : str
            What is poured, [-]

        Returns
        -------
        smallest, largest : float
            Radii of the discs of the same wetted area, [mm]

        Raises
        ------
        CoverageError
            If nothing is known of it.
        """
        return self._layer(layer).measured_range(technique)

    def _layer(self, layer):
        if layer not in self._layers:
            seen = [one for one in self.observations if one.layer == layer]
            self._layers[layer] = _Layer(layer, seen, self.settings)
        return self._layers[layer]


def _layers_of(technique):
    if technique not in LAYERS_OF:
        raise CoverageError(
            f"“{technique}” is not a technique. Choose {', '.join(TECHNIQUES[:-1])} or "
            f"{TECHNIQUES[-1]}."
        )
    return LAYERS_OF[technique]


def _number(technique):
    return TECHNIQUES.index(technique)


class _Layer:
    """One layer's process."""

    def __init__(self, layer, seen, settings):
        if not seen:
            raise CoverageError(f"Nothing is known of the layer “{layer}” yet.")
        assert layer in LAYERS
        self.layer, self.seen, self.settings = layer, seen, settings
        self.places = Cells(
            sizes=np.array([one.size for one in seen]),
            techniques=np.array([_number(one.technique) for one in seen]),
            own=np.array([one.own for one in seen]),
        )

    @cached_property
    def posterior(self):
        noise = np.array([_variance(one, self.settings) for one in self.seen])
        prior = covariance(self.places, self.places, self.settings)
        return Posterior(prior, noise, self.values - self.mean, self.places.own)

    @cached_property
    def values(self):
        return np.array([one.ln_thickness for one in self.seen])

    @cached_property
    def mean(self):
        """The layer's mean: of common practice where there is any, so that a hand is a deviation."""
        common = ~self.places.own
        return float(self.values[common if common.any() else ~common].mean())

    def forecast(self, cells):
        sizes = np.array([size_of(area) for _, _, area, _ in cells])
        techniques = np.array([_number(technique) for technique, *_ in cells])
        asked = Cells(sizes, techniques, np.ones(len(cells), dtype=bool))
        means, variances = self._at(asked)
        ln_areas = np.array([log(area / 1000) for _, _, area, _ in cells])
        ln_medians = self._never_less(asked, means + ln_areas)
        outside = self._outside(sizes, techniques)
        return [
            self._one(cell, ln_median, variance, out)
            for cell, ln_median, variance, out in zip(
                cells, ln_medians, variances, outside, strict=True
            )
        ]

    def _one(self, cell, ln_median, variance, outside):
        technique, _, _, count = cell
        shift, piece_sd = mean_of_pieces(self.settings.piece_sd, count)
        ln_sd = sqrt(variance + self.settings.session_sd**2 + piece_sd**2)
        return Forecast(
            technique=technique,
            layer=self.layer,
            count=int(count),
            ln_median=float(ln_median) + shift + log(count),
            ln_sd=ln_sd,
            outside_measured=bool(outside),
        )

    def _at(self, asked):
        near = covariance(asked, self.places, self.settings)
        return (
            self.mean + self.posterior.mean(near),
            self.posterior.variance(near, prior_variance(asked, self.settings)),
        )

    def _never_less(self, asked, ln_volumes):
        """Raise a median to that of every smaller size: paint does not get less as a piece grows.

        Thickness falls back to the technique's mean away from what was measured. Between two logs
        that disagree wildly it could fall faster than the area grows.
        """
        sizes = asked.sizes[:, None] + STEPS[None, :-1]
        smaller = Cells(
            sizes.ravel(),
            np.repeat(asked.techniques, STEPS.size - 1),
            np.ones(sizes.size, dtype=bool),
        )
        near = covariance(smaller, self.places, self.settings)
        means = self.mean + self.posterior.mean(near)
        volumes = means.reshape(sizes.shape) + 2 * sizes + log(np.pi / 1000)
        return np.maximum(ln_volumes, volumes.max(axis=1))

    def _outside(self, sizes, techniques):
        same = techniques[:, None] == self.places.techniques[None, :]
        low = np.where(same, self.places.sizes[None, :], np.inf).min(axis=1)
        high = np.where(same, self.places.sizes[None, :], -np.inf).max(axis=1)
        return (sizes < low - NEAR) | (sizes > high + NEAR)

    def why(self, technique, size, top):
        asked = Cells(np.array([size]), np.array([_number(technique)]), np.array([True]))
        weights = self.posterior.weights(covariance(asked, self.places, self.settings))[0]
        total = np.abs(weights).sum()
        order = np.argsort(-np.abs(weights), kind="stable")[:top]
        return [
            Influence(
                observation=self.seen[place],
                weight=float(weights[place]),
                share=float(abs(weights[place]) / total),
                trust=float(self.posterior.trust[place]),
            )
            for place in order
        ]

    def measured_range(self, technique):
        sizes = self.places.sizes[self.places.techniques == _number(technique)]
        if not sizes.size:
            raise CoverageError(f"No {technique} has been measured yet.")
        return float(np.exp(sizes.min())), float(np.exp(sizes.max()))


def _variance(observation, settings):
    if observation.noise is not None:
        return observation.noise**2
    return float(settings.session_variance(observation.count))
