"""What a job takes: several lines, each with its layers, and how they hang together."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from math import log, sqrt

import numpy as np

from pricing.estimating.coverage.forecast import Forecast, Part, enough_together
from pricing.estimating.coverage.kernel import Floats

# A variance below this is none.
SURE = 1e-12
# So much less may a measure hold than is enough, and so much may the chance fall by.
WITHIN = 0.02
# What is poured from one cup: the lines, by their place, and the layers of each.
Cup = Collection[tuple[int, str]]


@dataclass(frozen=True)
class Cell:
    """A layer of a line over one of its bases: the line's place, the base's, and its chance."""

    line: int
    layer: str
    base: int
    chance: float


@dataclass(frozen=True)
class Job:
    """Several lines poured for one job, each with its layers, and how they hang together.

    Parameters
    ----------
    cells : tuple of Cell
        n of them, in the order of their lines, [-]
    asked : tuple of (str, int)
        Technique and count of each line, [-]
    means, covariance : ndarray
        Of ln(volume in mL) over all pieces of the line, n and n by n, [-]
    freedom : float
        Degrees of freedom, [-]
    outside : tuple of bool
        Whether a cell lies outside what was measured, [-]
    """

    cells: tuple[Cell, ...]
    asked: tuple[tuple[str, int], ...]
    means: Floats
    covariance: Floats
    freedom: float
    outside: tuple[bool, ...]

    def layer(self, layer: str, line: int = 0) -> Forecast:
        """Return the forecast of one layer of a line.

        Parameters
        ----------
        layer : str
            Which, [-]
        line : int
            Of which line, by its place, [-]

        Returns
        -------
        forecast : Forecast
            Over all pieces of the line, [mL]
        """
        places = [
            place
            for place, cell in enumerate(self.cells)
            if (cell.line, cell.layer) == (line, layer)
        ]
        scales = np.sqrt(np.diag(self.covariance))
        parts = tuple(
            Part(self.cells[place].chance, float(self.means[place]), float(scales[place]))
            for place in places
        )
        outside = any(self.outside[place] for place in places)
        return Forecast(*self.asked[line], layer, parts, self.freedom, outside)

    def forecasts(self, line: int = 0) -> dict[str, Forecast]:
        """Return the forecast of each layer of a line, in the order they are poured.

        Parameters
        ----------
        line : int
            Which, by its place, [-]

        Returns
        -------
        forecasts : dict of str to Forecast
            By layer, [mL]
        """
        layers = dict.fromkeys(cell.layer for cell in self.cells if cell.line == line)
        return {layer: self.layer(layer, line) for layer in layers}

    def total(self, of: Cup | None = None) -> Forecast:
        """Return the forecast of several layers together.

        Parameters
        ----------
        of : collection of (int, str) or None
            Their lines and layers; everything that is poured where it is not said, [-]

        Returns
        -------
        forecast : Forecast
            Lognormal with the mean and variance of the sum, its tails those of its parts, [mL]

        References
        ----------
        L. F. Fenton, "The sum of log-normal probability distributions in scatter transmission
        systems", IRE Trans. Commun. Syst. 8 (1960) 57-67.
        """
        places = self._places(of)
        mean, square = self._moments(places, places)
        variance = max(log(square / mean**2), 0.0)
        lines = {self.cells[place].line for place in places}
        techniques = {self.asked[line][0] for line in lines}
        return Forecast(
            technique=techniques.pop() if len(techniques) == 1 else "",
            count=sum(self.asked[line][1] for line in lines),
            layer="",
            parts=(Part(1.0, log(mean) - variance / 2, sqrt(variance)),),
            freedom=self.freedom,
            outside_measured=any(self.outside[place] for place in places),
        )

    def cup(self, of: Cup) -> Forecast:
        """Return the forecast of what is poured from one cup.

        Parameters
        ----------
        of : collection of (int, str)
            The lines and layers it is poured for, at least one, [-]

        Returns
        -------
        forecast : Forecast
            That of the layer, or of several together, [mL]
        """
        if len(of) == 1:
            ((line, layer),) = of
            return self.layer(layer, line)
        return self.total(of)

    def enough(self, confidence: float = 0.9, cups: Sequence[Cup] | None = None) -> float:
        """Return the chance each cup must be enough with, for all of the job to be.

        Parameters
        ----------
        confidence : float
            Chance that no cup of the job runs out, at least one half, [-]
        cups : sequence of collections of (int, str), or None
            What each is poured for; each layer of each line has its own where it is not said, [-]

        Returns
        -------
        chance : float
            The quantile of each cup's forecast to have ready, [-]

        Raises
        ------
        CoverageError
            If the confidence cannot be.
        """
        cups = self._own_cups() if cups is None else cups
        places = [self._places(cup) for cup in cups]
        several = range(len(cups))
        common = np.empty((len(cups), len(cups)))
        for one in several:
            mean, _ = self._moments(places[one], places[one])
            for other in several[: one + 1]:
                other_mean, product = self._moments(places[other], places[one])
                common[one, other] = common[other, one] = log(product / (mean * other_mean))
        unsure = np.diag(common) > SURE  # the others are enough as they are
        count, common = int(unsure.sum()), common[np.ix_(unsure, unsure)]
        scales = np.sqrt(np.diag(common))
        alike = (common / np.outer(scales, scales)).sum() - count
        pairs = max(count * (count - 1), 1)
        return enough_together(max(count, 1), float(alike) / pairs, self.freedom, confidence)

    def _own_cups(self) -> list[Cup]:
        """Return a cup for each layer of each line."""
        return [[at] for at in dict.fromkeys((one.line, one.layer) for one in self.cells)]

    def ready(
        self, confidence: float = 0.9, cups: Sequence[Cup] | None = None
    ) -> list[tuple[float, float]]:
        """Return what to have ready in each cup, and what will do where it is measured.

        Parameters
        ----------
        confidence : float
            Chance that no cup of the job runs out, at least one half, [-]
        cups : sequence of collections of (int, str), or None
            As of `enough`, [-]

        Returns
        -------
        volumes : list of (float, float)
            What is enough, and what is at most 2 % less and, with as much less in every cup, enough
            with a chance of no more than 2 points less, [mL]

        Raises
        ------
        CoverageError
            If the confidence cannot be.
        """
        cups = self._own_cups() if cups is None else cups
        chance = self.enough(confidence, cups)
        lower = self.enough(max(confidence - WITHIN, 0.5), cups)
        forecasts = [self.cup(cup) for cup in cups]
        enough = [one.quantile(chance) for one in forecasts]
        return [
            (volume, max(one.quantile(lower), (1 - WITHIN) * volume))
            for one, volume in zip(forecasts, enough, strict=True)
        ]

    def _places(self, of: Cup | None) -> list[int]:
        return [
            place
            for place, cell in enumerate(self.cells)
            if of is None or (cell.line, cell.layer) in of
        ]

    def _moments(self, some: list[int], others: list[int]) -> tuple[float, float]:
        """Return the mean of what some cells take together, and that of its product with others'.

        A line is poured over one base only; each line may be over another.
        """
        of_some, of_others = self._poured(some), self._poured(others)
        lines, bases, chances, means = (
            np.subtract.outer(one, other) if place < 2 else np.multiply.outer(one, other)
            for place, (one, other) in enumerate(zip(of_some, of_others, strict=True))
        )
        together = np.where(lines == 0, (bases == 0) * of_some[2][:, None], chances)
        covariance = np.exp(self.covariance[np.ix_(some, others)])
        return float(of_some[2] @ of_some[3]), float((together * covariance * means).sum())

    def _poured(self, places: list[int]) -> tuple[Floats, Floats, Floats, Floats]:
        """Return lines, bases, chances and mean volumes of some cells."""
        cells = [self.cells[place] for place in places]
        means: Floats = np.exp(self.means[places] + np.diag(self.covariance)[places] / 2)
        lines, bases, chances = (
            np.array([float(getattr(cell, name)) for cell in cells])
            for name in ("line", "base", "chance")
        )
        return lines, bases, chances, means

    def once_poured(self) -> "Job":
        """Return what the first line takes once the others were poured and logged.

        Returns
        -------
        job : Job
            As wide as the first line alone will be, around what is expected of it now; what the
            others may say of the scale of all is left out, [mL]

        References
        ----------
        C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for Machine Learning" (2006),
        eq. A.6: a conditional covariance does not hang on what is seen.
        """
        first = np.array([cell.line == 0 for cell in self.cells])
        common = self.covariance[np.ix_(first, ~first)]
        known = np.linalg.solve(self.covariance[np.ix_(~first, ~first)], common.T)
        alone = self.apart()[0]
        return replace(alone, covariance=alone.covariance - common @ known)

    def apart(self) -> list["Job"]:
        """Return a job for each line, in their order, as if it were poured alone."""
        starts = np.searchsorted([cell.line for cell in self.cells], range(len(self.asked) + 1))
        return [
            Job(
                cells=tuple(
                    Cell(0, cell.layer, cell.base, cell.chance) for cell in self.cells[start:end]
                ),
                asked=(asked,),
                means=self.means[start:end],
                covariance=self.covariance[start:end, start:end],
                freedom=self.freedom,
                outside=self.outside[start:end],
            )
            for asked, start, end in zip(self.asked, starts, starts[1:], strict=False)
        ]
