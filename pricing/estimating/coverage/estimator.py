"""The estimator: what a studio asks, answered from what was seen."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import exp, log, pi

import numpy as np

from pricing.estimating.coverage.fitting import Learnt, learn
from pricing.estimating.coverage.forecast import Forecast
from pricing.estimating.coverage.job import Cell, Job
from pricing.estimating.coverage.kernel import SIDE_SLOPE, Luck, Pairs, Places, Settings
from pricing.estimating.coverage.memory import Memory
from pricing.estimating.coverage.observations import (
    CoverageError,
    Line,
    Observation,
    check_layer,
)
from pricing.estimating.coverage.posterior import SCALE_WORTH, Posterior, doubted
from pricing.estimating.coverage.seen import Seen
from pricing.estimating.coverage.state import NOTHING

# Of many lines that have nothing to do with each other, so many are worked out at once.
TOGETHER = 25


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
        The chance that it is no slip, [-]
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
        What was seen, the studio's own in the order they were poured, [-]
    settings : Settings or None
        What the model rests on; without them and a memory they are fitted to the pours, [-]
    memory : Memory or None
        What was poured before, and what is known of these pours; only new ones are looked at for
        slips, nothing is fitted, [-]

    Notes
    -----
    One Gaussian process over all layers, each term but the first Gaussian with mean zero:
    ``ln h = mean(layer) − 0.25 · sides + level(technique, layer) + f(size) + g(technique, size) +
    own curve + sides + hand + knack + fading hand + luck of the pour + luck of the pieces``.
    Common practice has the levels and curves only. The scale of all variances is learnt too, so
    that forecasts have Student-t distributions. `kernel` has the values.
    """

    def __init__(
        self,
        observations: Sequence[Observation],
        settings: Settings | None = None,
        memory: Memory | None = None,
    ) -> None:
        self._given, self._memory = settings, memory
        self.before = memory.state if memory else NOTHING
        self.seen = Seen(observations, self.before)

    @property
    def observations(self) -> tuple[Observation, ...]:
        """What was seen, but for what was poured before."""
        return self.seen.observations

    @cached_property
    def learnt(self) -> Learnt:
        """What the pours taught of luck, and which of them are likely slips."""
        places, values = self.seen.places, self.seen.values
        if self._given is None and self._memory is None:
            return learn(places, values, Settings())
        known, new = (self._memory or Memory()).known(self.observations)
        settings = self._given or known.settings
        posterior = Posterior(places, values, settings, known.raised, self.before)
        chances, raised = doubted(posterior, known.chances, new)
        return replace(known, settings=settings, chances=chances, raised=raised)

    @property
    def settings(self) -> Settings:
        """What the model rests on."""
        return self.learnt.settings

    @cached_property
    def _posterior(self) -> Posterior:
        places, values = self.seen.places, self.seen.values
        return Posterior(places, values, self.settings, self.learnt.raised, self.before)

    @cached_property
    def _scale(self) -> tuple[float, float]:
        """The scale of all variances, and its degrees of freedom."""
        own = self.seen.places.own > 0
        honest = self.before.honest + float((1 - self.learnt.chances[own]).sum())
        freedom = 2 * SCALE_WORTH + honest
        if not own.any() and not self.before.pours:
            return 1.0, freedom
        distance = self.before.distance + self._posterior.distance
        if not own.all():
            practice = Posterior(self.seen.places[~own], self.seen.values[~own], self.settings)
            distance -= practice.distance
        return (2 * SCALE_WORTH + max(distance, 0.0)) / freedom, freedom

    def slips(self) -> dict[int | str, float]:
        """Return the chance that a pour is a slip, by its key, that of its worst layer, [-]."""
        chances: dict[int | str, float] = {}
        for one, chance in zip(self.observations, self.learnt.chances, strict=True):
            if one.own and one.key is not None:
                chances[one.key] = max(chances.get(one.key, 0.0), float(chance))
        return chances

    def job(self, lines: Sequence[Line]) -> Job:
        """Return what several lines take, and how they hang together.

        Parameters
        ----------
        lines : sequence of Line
            What is poured for one job, [-]

        Returns
        -------
        job : Job
            Over all pieces of each line, [mL]

        Raises
        ------
        CoverageError
            If nothing is known of a layer.
        """
        cells = self.seen.cells(lines)
        return self._job(lines, cells, self.seen.places_of(cells, lines))

    def jobs(self, lines: Sequence[Line]) -> list[Job]:
        """Return what each of many lines takes, each a job of its own, with one factorisation.

        Parameters
        ----------
        lines : sequence of Line
            What may be poured, [-]

        Returns
        -------
        jobs : list of Job
            In the order of the lines, [mL]

        Raises
        ------
        CoverageError
            If nothing is known of a layer.
        """
        jobs: list[Job] = []
        for first in range(0, len(lines), TOGETHER):
            some = lines[first : first + TOGETHER]
            cells = self.seen.cells(some)
            places = self.seen.places_of(cells, some)
            places.pours[:] = places.pours.min()  # each would be the studio's next pour
            jobs.extend(self._job(some, cells, places).apart())
        return jobs

    def _job(self, lines: Sequence[Line], cells: Sequence[Cell], places: Places) -> Job:
        settings, (scale, freedom) = self.settings, self._scale
        means, some, others = self._posterior.mean_and_halves(places)
        prior = Pairs(places, places, settings).covariance(settings)
        luck = Luck(places, settings).covariance(settings)
        volumes = 2 * places.sizes + log(pi / 1000) + np.log(places.counts)
        return Job(
            cells=tuple(cells),
            asked=tuple((line.technique, line.count) for line in lines),
            means=means + self.seen.means[places.layers] + SIDE_SLOPE * places.sides + volumes,
            covariance=scale * (prior - some.T @ others + luck),
            freedom=freedom,
            outside=tuple(self.seen.is_outside(lines[cell.line], cell.layer) for cell in cells),
        )

    def forecast(
        self, technique: str, layer: str, wetted_area_mm2: float, count: int = 1
    ) -> Forecast:
        """Return the forecast of one layer on pieces without sides, over any base.

        Parameters
        ----------
        technique, layer : str
            One of `TECHNIQUES` and one of its layers, [-]
        wetted_area_mm2 : float
            Face of one piece, [mm2]
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
        check_layer(technique, layer)
        return self.job([Line(technique, wetted_area_mm2, count)]).layer(layer)

    def forecasts(
        self, technique: str, wetted_area_mm2: float, count: int = 1
    ) -> dict[str, Forecast]:
        """Return the forecast of every layer on pieces without sides, over any base.

        Parameters
        ----------
        technique : str
            One of `TECHNIQUES`, [-]
        wetted_area_mm2 : float
            Face of one piece, [mm2]
        count : int
            Equal pieces poured in one session, [-]

        Returns
        -------
        forecasts : dict of str to Forecast
            By layer, in the order they are poured, [mL]

        Raises
        ------
        CoverageError
            If there is no such technique, or the area or count cannot be.
        """
        return self.job([Line(technique, wetted_area_mm2, count)]).forecasts()

    def why(
        self, technique: str, layer: str, wetted_area_mm2: float, top: int = 5
    ) -> list[Influence]:
        """Return which of the `observations` weighed most in a forecast, the heaviest first.

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
        check_layer(technique, layer)
        line = Line(technique, wetted_area_mm2)
        cells = [cell for cell in self.seen.cells([line]) if cell.layer == layer]
        chances = np.array([cell.chance for cell in cells])
        weights = chances @ self._posterior.weights(self.seen.places_of(cells, [line]))
        total = np.abs(weights).sum()
        order = np.argsort(-np.abs(weights), kind="stable")[:top]
        return [
            Influence(
                observation=self.observations[place],
                weight=float(weights[place]),
                share=float(abs(weights[place]) / total),
                trust=float(1 - self.learnt.chances[place]),
            )
            for place in order
        ]

    def measured_range(self, technique: str, layer: str) -> tuple[float, float]:
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
        check_layer(technique, layer)
        smallest, largest = self.seen.range_of(technique, layer)
        if largest < smallest:
            raise CoverageError(f"No {technique} has been measured yet.")
        return exp(smallest), exp(largest)
