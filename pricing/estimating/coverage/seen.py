"""What was seen and what is asked, as the model takes it: arrays of places and values."""

from collections.abc import Sequence
from functools import cached_property
from math import log

import numpy as np

from pricing.estimating.coverage.job import Cell
from pricing.estimating.coverage.kernel import SIDE_SLOPE, Floats, Places
from pricing.estimating.coverage.observations import (
    BASES_OF,
    KINDS,
    LAYERS,
    TECHNIQUES,
    CoverageError,
    Line,
    Observation,
    layers_of,
    size_of,
)
from pricing.estimating.coverage.state import NOTHING, State, wider

# A size is measured when a pour lies within this distance in ln(radius): 28 % wider or narrower.
NEAR = 0.25
# A base as thick as this was flooded, where nothing was logged of the colours: between the quarter
# of 1 fl oz on 25 in2 and the whole of it, [mm].
FLOODED_FROM_MM = 0.9


class Seen:
    """Observations as arrays, and what is asked beside them.

    Parameters
    ----------
    observations : sequence of Observation
        What was seen, the studio's own in the order they were poured, [-]
    before : State
        What was poured before those, [-]
    """

    def __init__(self, observations: Sequence[Observation], before: State = NOTHING) -> None:
        self.observations = tuple(observations)
        self.before = before

    @cached_property
    def _bases(self) -> list[str]:
        """The base of each observation; of a pour that was not told it, as the pour looks."""
        pours: dict[object, list[Observation]] = {}
        for place, one in enumerate(self.observations):
            pours.setdefault(_pour_of(place, one), []).append(one)
        return [
            one.base or looks_like(pours[_pour_of(place, one)])
            for place, one in enumerate(self.observations)
        ]

    def chances_of_bases(self, line: Line) -> list[float]:
        """Return the chance of each base of a line: as often as the studio poured over each.

        Parameters
        ----------
        line : Line
            What is asked, [-]

        Returns
        -------
        chances : list of float
            In the order of `Line.kinds`, adding up to one; each base counts as poured once
            beforehand, [-]
        """
        poured = [float(self._poured[KINDS[line.technique, base]]) for base in line.kinds]
        whole = sum(poured) + len(poured)
        return [(count + 1) / whole for count in poured]

    @cached_property
    def _poured(self) -> Floats:
        """How many pours there were of each kind."""
        places = self.places
        firsts = np.unique(places.pours, return_index=True)[1]
        own = places.kinds[firsts[places.own[firsts] > 0]]
        counts: Floats = self.before.poured + np.bincount(own, minlength=len(KINDS))
        return counts

    @cached_property
    def places(self) -> Places:
        """Where the observations were made."""
        seen = self.observations
        numbers: dict[object, int] = {}
        pours = [
            numbers.setdefault(_pour_of(place, one), len(numbers)) if one.own else -1
            for place, one in enumerate(seen)
        ]
        rules: dict[object, int] = {}
        named = [
            rules.setdefault((one.technique, one.base, one.layer, one.rule), len(rules))
            if one.rule
            else -1
            for one in seen
        ]
        return Places(
            sizes=np.array([one.size for one in seen]),
            sides=np.array([one.side_share for one in seen]),
            kinds=np.array(
                [KINDS[one.technique, base] for one, base in zip(seen, self._bases, strict=True)],
                dtype=int,
            ),
            layers=np.array([LAYERS.index(one.layer) for one in seen], dtype=int),
            own=np.array([float(one.own) for one in seen]),
            pours=np.array(pours, dtype=int),
            counts=np.array([float(one.count) for one in seen]),
            sure=np.array([one.sure or not one.own for one in seen], dtype=bool),
            rules=np.array(named, dtype=int),
            noise=np.array([(one.noise or 0.0) ** 2 for one in seen]),
        )

    @cached_property
    def means(self) -> Floats:
        """The mean of ln(thickness) without sides, by layer: common practice's where there is any.

        Of a layer of which nothing is known there is none.
        """
        heights, places = self._heights, self.places
        means = np.full(len(LAYERS), np.nan)
        for layer in range(len(LAYERS)):
            here = places.layers == layer
            common = here & (places.own == 0)
            if here.any():
                means[layer] = heights[common if common.any() else here].mean()
        return means

    @cached_property
    def _heights(self) -> Floats:
        """ln(thickness) less what the sides are known to do."""
        films: Floats = np.array(
            [log(1000 * one.volume_ml / one.wetted_area_mm2) for one in self.observations]
        )
        return films - SIDE_SLOPE * self.places.sides

    @cached_property
    def values(self) -> Floats:
        values: Floats = self._heights - self.means[self.places.layers]
        return values

    def cells(self, lines: Sequence[Line]) -> list[Cell]:
        """Return the cells of some lines, in the order of the lines and of their layers.

        Parameters
        ----------
        lines : sequence of Line
            What is asked, [-]

        Returns
        -------
        cells : list of Cell
            One for each layer of a line over each of its bases, [-]
        """
        chances = [self.chances_of_bases(line) for line in lines]
        return [
            Cell(number, layer, base, chances[number][base])
            for number, line in enumerate(lines)
            for layer in layers_of(line.technique)
            for base in range(len(line.kinds))
        ]

    def places_of(self, cells: Sequence[Cell], lines: Sequence[Line]) -> Places:
        """Return where cells are poured, each line in one of the studio's next pours.

        Parameters
        ----------
        cells : sequence of Cell
            From `cells`, [-]
        lines : sequence of Line
            What is asked, [-]

        Returns
        -------
        places : Places
            One for each cell, [-]

        Raises
        ------
        CoverageError
            If nothing is known of a layer.
        """
        asked = [lines[cell.line] for cell in cells]
        after = int(self.places.pours.max(initial=-1)) + 1
        for cell in cells:
            if np.isnan(self.means[LAYERS.index(cell.layer)]):
                raise CoverageError(f"Nothing is known of the layer “{cell.layer}” yet.")
        nothing = np.zeros(len(cells))
        return Places(
            sizes=np.array([size_of(line.wetted_area_mm2) for line in asked]),
            sides=np.array([line.side_share for line in asked]),
            kinds=np.array(
                [
                    KINDS[line.technique, line.kinds[cell.base]]
                    for cell, line in zip(cells, asked, strict=True)
                ],
                dtype=int,
            ),
            layers=np.array([LAYERS.index(cell.layer) for cell in cells], dtype=int),
            own=nothing + 1,
            pours=np.array([after + cell.line for cell in cells], dtype=int),
            counts=np.array([float(line.count) for line in asked]),
            sure=nothing > 0,
            rules=np.full(len(cells), -1),
            noise=nothing,
        )

    @cached_property
    def _ranges(self) -> dict[tuple[str, str], tuple[float, float]]:
        of_kinds, ranges = wider(self.before.ranges, self.places), {}
        for technique in TECHNIQUES:
            kinds = [number for (one, _), number in KINDS.items() if one == technique]
            for layer, (least, most) in zip(
                LAYERS, of_kinds[kinds].transpose(1, 2, 0), strict=True
            ):
                ranges[technique, layer] = float(least.min()), float(most.max())
        return ranges

    def range_of(self, technique: str, layer: str) -> tuple[float, float]:
        """Return the smallest and largest size seen of a technique's layer.

        Parameters
        ----------
        technique, layer : str
            What is poured, [-]

        Returns
        -------
        smallest, largest : float
            ln of the radius in mm; the largest below the smallest where none was seen, [-]
        """
        return self._ranges[technique, layer]

    def is_outside(self, line: Line, layer: str) -> bool:
        """Tell whether no pour of a line's technique is known near its size.

        Parameters
        ----------
        line : Line
            What is asked, [-]
        layer : str
            Which layer of it, [-]

        Returns
        -------
        outside : bool
            Whether it lies further than `NEAR` beyond what was seen, [-]
        """
        low, high = self.range_of(line.technique, layer)
        return not low - NEAR <= size_of(line.wetted_area_mm2) <= high + NEAR


def _pour_of(place: int, one: Observation) -> tuple[str, object]:
    return ("place", place) if one.key is None else ("key", one.key)


def looks_like(pour: Sequence[Observation]) -> str:
    """Return the base that a pour seems to have been poured over.

    Parameters
    ----------
    pour : sequence of Observation
        Its layers, at least one, [-]

    Returns
    -------
    base : str
        Flooded where more base than colours was poured, or where of a base alone there was as much
        as of all layers of a thin one; empty where the technique has but one, [-]
    """
    bases = BASES_OF[pour[0].technique]
    if not bases:
        return ""
    films = {one.layer: one.volume_ml * 1000 / one.wetted_area_mm2 for one in pour}
    return bases[films.get("base", 0.0) > films.get("colours", FLOODED_FROM_MM)]
