"""One layer's process: an exact Gaussian process over ln(wet thickness)."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import log, pi

import numpy as np
from scipy.optimize import brentq

from pricing.estimating.coverage.forecast import Forecast
from pricing.estimating.coverage.kernel import (
    Cells,
    Floats,
    Settings,
    Truths,
    Whole,
    covariance,
    mean_of_pieces,
    prior_variance,
    size_slope,
)
from pricing.estimating.coverage.observations import (
    LAYERS,
    TECHNIQUES,
    CoverageError,
    Observation,
    size_of,
)
from pricing.estimating.coverage.posterior import Posterior

NUMBERS = {technique: number for number, technique in enumerate(TECHNIQUES)}
# A size is measured when a pour lies within this distance in ln(radius): 28 % wider or narrower.
NEAR = 0.25
# Where the median is searched for a fall: lengths beyond what was seen, and steps to a length.
BEYOND, TO_A_LENGTH = 4, 8

# Technique, layer, wetted area of one piece [mm2], and count.
Cell = tuple[str, str, float, int]


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


class Layer:
    """What was seen of one layer, and what follows from it.

    Parameters
    ----------
    layer : str
        One of `LAYERS`, [-]
    seen : sequence of Observation
        All of that layer; at least one, [-]
    settings : Settings
        Standard deviations and length of the model, [-]

    Raises
    ------
    CoverageError
        If nothing was seen of it.
    """

    def __init__(self, layer: str, seen: Sequence[Observation], settings: Settings) -> None:
        if not seen:
            raise CoverageError(f"Nothing is known of the layer “{layer}” yet.")
        assert layer in LAYERS
        self.layer, self.seen, self.settings = layer, seen, settings
        self.areas_mm2 = np.array([one.wetted_area_mm2 for one in seen])
        self.places = Cells(
            sizes=np.log(self.areas_mm2 / pi) / 2,
            techniques=np.array([_number(one.technique) for one in seen]),
            own=np.array([one.own for one in seen]),
        )
        self.counts = np.array([one.count for one in seen])
        self.given_noise = np.array([one.noise or np.nan for one in seen])
        self._peaks: dict[int, tuple[Floats, Floats]] = {}

    @cached_property
    def values(self) -> Floats:
        """ln(thickness) of one piece; the mean of several lies a little above it."""
        ln_films: Floats = np.log([1000 * one.volume_ml for one in self.seen]) - np.log(
            self.areas_mm2
        )
        return ln_films - mean_of_pieces(self.settings.piece_sd, self.counts)[0]

    @cached_property
    def mean(self) -> float:
        """The mean of common practice where there is any, so that a hand is a deviation."""
        common = ~self.places.own
        return float(self.values[common if common.any() else ~common].mean())

    def noise(self, settings: Settings) -> Floats:
        """Return the variance of each value: of the settings for own pours, else as given."""
        given = np.isnan(self.given_noise)
        return np.where(given, settings.session_variance(self.counts), self.given_noise**2)

    @cached_property
    def posterior(self) -> Posterior:
        prior = covariance(self.places, self.places, self.settings)
        noise = self.noise(self.settings)
        return Posterior(prior, noise, self.values - self.mean, self.places.own)

    @cached_property
    def raised(self) -> Floats:
        """What the noise of doubted pours was raised by."""
        return self.noise(self.settings) * (1 / self.posterior.trust - 1)

    def forecast(self, cells: Sequence[Cell]) -> list[Forecast]:
        """Return the forecast of each cell: technique, layer, wetted area [mm2], count."""
        sizes = np.array([size_of(area) for _, _, area, _ in cells])
        techniques = np.array([_number(technique) for technique, *_ in cells])
        counts = np.array([count for *_, count in cells])
        asked = Cells(sizes, techniques, np.ones(len(cells), dtype=bool))
        near = covariance(asked, self.places, self.settings)
        ln_medians = self._never_less(asked, self._ln_volumes(sizes, near))
        shift, piece_variances = mean_of_pieces(self.settings.piece_sd, counts)
        variances = (
            self.posterior.variance(near, prior_variance(asked, self.settings))
            + self.settings.session_sd**2
            + piece_variances
        )
        made = zip(
            cells,
            ln_medians + shift + np.log(counts),
            np.sqrt(variances),
            self._outside(sizes, techniques),
            strict=True,
        )
        return [
            Forecast(technique, self.layer, int(count), float(ln_median), float(sd), bool(outside))
            for (technique, _, _, count), ln_median, sd, outside in made
        ]

    def _ln_volumes(self, sizes: Floats, near: Floats) -> Floats:
        """ln(median volume in mL) of one piece."""
        return self.mean + self.posterior.mean(near) + 2 * sizes + log(pi / 1000)

    def _never_less(self, asked: Cells, ln_volumes: Floats) -> Floats:
        """Raise a median to that of every smaller size: paint does not get less as a piece grows.

        Thickness falls back to the technique's mean away from what was measured. Between two logs
        that disagree wildly it can fall faster than the area grows.
        """
        raised = ln_volumes.copy()
        for technique in np.unique(asked.techniques):
            sizes, tops = self._peaks_of(int(technique))
            if sizes.size:
                here = asked.techniques == technique
                smaller = sizes[None, :] <= asked.sizes[here, None]
                highest = np.where(smaller, tops[None, :], -np.inf).max(axis=1)
                raised[here] = np.maximum(raised[here], highest)
        return raised

    def _peaks_of(self, technique: int) -> tuple[Floats, Floats]:
        """Return the sizes from which a technique's median volume falls, and ln of it there."""
        if technique not in self._peaks:
            self._peaks[technique] = self._find_peaks(technique)
        return self._peaks[technique]

    def _find_peaks(self, technique: int) -> tuple[Floats, Floats]:
        def at(sizes: Floats) -> Cells:
            sizes = np.atleast_1d(sizes)
            own = np.ones(sizes.size, dtype=bool)
            return Cells(sizes, np.full(sizes.size, technique), own)

        def slope(sizes: Floats) -> Floats:
            return 2 + self.posterior.mean(size_slope(at(sizes), self.places, self.settings))

        length = self.settings.length
        first, last = self.places.sizes.min(), self.places.sizes.max()
        steps = int((last - first) / length + 2 * BEYOND) * TO_A_LENGTH + 1
        grid = np.linspace(first - BEYOND * length, last + BEYOND * length, steps)
        slopes = slope(grid)
        falls = np.flatnonzero((slopes[:-1] > 0) & (slopes[1:] <= 0))
        sizes = np.array([brentq(lambda s: slope(s)[0], grid[i], grid[i + 1]) for i in falls])
        near = covariance(at(sizes), self.places, self.settings)
        return sizes, self._ln_volumes(sizes, near)

    def _outside(self, sizes: Floats, techniques: Whole) -> Truths:
        same = techniques[:, None] == self.places.techniques[None, :]
        low: Floats = np.where(same, self.places.sizes[None, :], np.inf).min(axis=1)
        high: Floats = np.where(same, self.places.sizes[None, :], -np.inf).max(axis=1)
        return (sizes < low - NEAR) | (sizes > high + NEAR)

    def why(self, technique: str, size: float, top: int) -> list[Influence]:
        """Return the `Influence` of the observations that weighed most, the heaviest first."""
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

    def measured_range(self, technique: str) -> tuple[float, float]:
        """Return the smallest and largest radius that was seen of a technique, [mm]."""
        sizes = self.places.sizes[self.places.techniques == _number(technique)]
        if not sizes.size:
            raise CoverageError(f"No {technique} has been measured yet.")
        return float(np.exp(sizes.min())), float(np.exp(sizes.max()))


def _number(technique: str) -> int:
    return NUMBERS[technique]
