"""The curve behind the estimates: how thick a layer is poured, by size, and what it rests on."""

from dataclasses import dataclass
from math import exp, log, sqrt

from pricing.estimating.coverage import Estimator, Line, Observation
from pricing.estimating.layers import LAYER_NAMES
from pricing.models import Technique
from studio.charts import Chart, line_with_band
from studio.models import Studio

MM_PER = {"in": 25.4, "cm": 10.0}
STEPS = 24
# How far the curve is drawn past the smallest and largest piece known, in ln(side).
BEYOND = 0.2
# So many of the latest pours are drawn.
MOST_POINTS = 100


@dataclass(frozen=True)
class Point:
    """One pour or fact: side of the square of the same painted area, and film, [mm]."""

    what: str
    is_own: bool
    side: float
    film_mm: float
    volume_ml: float


@dataclass(frozen=True)
class FilmCurve:
    """One layer of a technique: its chart and the points in it, the studio's own first."""

    layer: str
    chart: Chart
    points: tuple[Point, ...]

    @property
    def name(self) -> str:
        """What the layer is called."""
        return LAYER_NAMES[self.layer]


def curve(
    studio: Studio, estimator: Estimator, technique: str, layer: str, here_mm2: float | None = None
) -> FilmCurve:
    """Return the `FilmCurve` of one layer; ``here_mm2`` is a size that must lie on it, [mm^2]."""
    unit = MM_PER[studio.lengths]
    observations = [
        one for one in estimator.observations if (one.technique, one.layer) == (technique, layer)
    ]
    own = [one for one in observations if one.own][-MOST_POINTS:]
    points = [_point(one, unit) for one in observations if not one.own]
    points += [_point(one, unit) for one in own]
    sides = [log(point.side) for point in points]
    if here_mm2:
        sides.append(log(sqrt(here_mm2) / unit))
    low, high = min(sides) - BEYOND, max(sides) + BEYOND
    grid = [exp(low + (high - low) * step / STEPS) for step in range(STEPS + 1)]
    areas = [(side * unit) ** 2 for side in grid]
    jobs = estimator.jobs([Line(technique, area) for area in areas])
    forecasts = [job.layer(layer) for job in jobs]
    line = [
        tuple(
            round(number, 3)
            for number in (
                side,
                *(ml * 1000 / area for ml in (one.low, one.median, one.high)),
            )
        )
        for side, area, one in zip(grid, areas, forecasts, strict=True)
    ]
    name = f"{LAYER_NAMES[layer]} of a {Technique.Slug(technique).label.lower()}"
    chart = line_with_band(
        line,
        [(point.side, point.film_mm) for point in points if point.is_own],
        others=[(point.side, point.film_mm) for point in points if not point.is_own],
        x_title=f"Side of a square of the same painted area ({studio.lengths})",
        y_title="Poured, as a film (mm)",
        caption=f"{name}: how thick it is poured, by size. The line is the middle, and 8 pours in "
        "10 fall in the band. Dots are your pours, rings are common practice.",
    )
    return FilmCurve(
        layer, chart, tuple(sorted(points, key=lambda one: (not one.is_own, one.side)))
    )


def _point(observation: Observation, unit: float) -> Point:
    return Point(
        what=observation.label if observation.own else observation.label.partition(" (")[0],
        is_own=observation.own,
        side=sqrt(observation.wetted_area_mm2) / unit,
        film_mm=observation.volume_ml * 1000 / observation.wetted_area_mm2,
        volume_ml=observation.volume_ml,
    )
