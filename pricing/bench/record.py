"""How forecasts came true: each layer's, made before its pour, beside two plain rules."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pricing.estimating import coverage
from pricing.estimating.coverage import Observation, Score
from pricing.estimating.learning import learnt_layers, observation
from pricing.estimating.sizes import geometry
from pricing.models import Pour, PourLayer, Technique
from studio.models import Studio

AREA, OUNCE = "area scaling", "1 fl oz on 25 in²"


@dataclass(frozen=True)
class LayerRecord:
    """One layer of one pour, all its pieces together, [mL]."""

    pour: Pour
    layer: PourLayer
    low_ml: float
    median_ml: float
    high_ml: float
    poured_ml: float
    scaled_ml: float | None  # what area scaling from the nearest earlier pour would have said

    @property
    def inside(self) -> bool:
        """Whether what was poured lay within the 80 % interval."""
        return self.low_ml <= self.poured_ml <= self.high_ml

    @property
    def error(self) -> float:
        """How far the median was off, as a share of what was poured, with its sign, [-]."""
        return self.median_ml / self.poured_ml - 1


@dataclass(frozen=True)
class Record:
    """A studio's forecasts and what became of them.

    ``layers`` has one row for each forecast, newest first. ``overall`` and ``by_technique`` score
    them layer by layer beside area scaling; ``totals`` scores whole pours, all layers together,
    beside both plain rules (its share inside is that of the summed ranges).
    """

    layers: tuple[LayerRecord, ...]
    overall: coverage.Score
    by_technique: dict[str, coverage.Score]
    totals: coverage.Score
    totals_by_technique: dict[str, coverage.Score]


def record(studio: Studio, last: int | None = None) -> Record:
    """Return the `Record` of a studio's last so many pours, or of all, in one query.

    Pours that were undone or set aside are left out.
    """
    rows = _rows(learnt_layers(studio.pk))
    if last is not None:
        pours = list(dict.fromkeys(row.pour for row in rows))
        kept = set(pours[-last:] if last else [])
        rows = [row for row in rows if row.pour in kept]
    by_technique: defaultdict[str, list[LayerRecord]] = defaultdict(list)
    for row in rows:
        by_technique[row.pour.technique.slug].append(row)
    techniques = [slug.value for slug in Technique.Slug if slug in by_technique]
    return Record(
        layers=tuple(reversed(rows)),
        overall=_score(rows),
        by_technique={slug: _score(by_technique[slug]) for slug in techniques},
        totals=_totals(rows),
        totals_by_technique={slug: _totals(by_technique[slug]) for slug in techniques},
    )


def _rows(layers: Iterable[PourLayer]) -> list[LayerRecord]:
    """Return a row for each layer that was forecast, oldest first; rules know what came before."""
    seen: list[Observation] = []
    waiting: list[Observation] = []
    rows: list[LayerRecord] = []
    pour = None
    for layer in layers:
        if layer.pour_id != pour:
            seen, waiting, pour = [*seen, *waiting], [], layer.pour_id
        what = observation(layer)
        if what is None:
            continue
        waiting.append(what)
        low, median = layer.forecast_low_ml, layer.forecast_median_ml
        high = layer.forecast_high_ml
        if low is None or median is None or high is None:
            continue
        rows.append(
            LayerRecord(
                pour=layer.pour,
                layer=layer,
                low_ml=float(low),
                median_ml=float(median),
                high_ml=float(high),
                poured_ml=float(layer.poured_ml),
                scaled_ml=_scaled(seen, what),
            )
        )
    return rows


def _scaled(seen: Sequence[Observation], what: Observation) -> float | None:
    try:
        each = coverage.area_scaling(seen, what.technique, what.layer, what.wetted_area_mm2)
    except coverage.CoverageError:  # the first of its kind
        return None
    return each * what.count


def _score(rows: Sequence[LayerRecord]) -> Score:
    return coverage.score(
        [(row.low_ml, row.median_ml, row.high_ml) for row in rows],
        [row.poured_ml for row in rows],
        {AREA: [row.scaled_ml for row in rows]},
    )


def _totals(rows: Iterable[LayerRecord]) -> Score:
    """Score whole pours; area scaling answers where it had an answer for every layer."""
    by_pour: defaultdict[Pour, list[LayerRecord]] = defaultdict(list)
    for row in rows:
        by_pour[row.pour].append(row)
    ranges, actuals, scaled, ounces = [], [], [], []
    for pour, layers in by_pour.items():
        ranges.append(
            (
                sum(row.low_ml for row in layers),
                sum(row.median_ml for row in layers),
                sum(row.high_ml for row in layers),
            )
        )
        actuals.append(sum(row.poured_ml for row in layers))
        answers = [row.scaled_ml for row in layers if row.scaled_ml is not None]
        scaled.append(sum(answers) if len(answers) == len(layers) else None)
        area_mm2 = geometry(pour.surface).wetted_area_mm2
        ounces.append(coverage.ounce_rule(area_mm2) * pour.count)
    return coverage.score(ranges, actuals, {AREA: scaled, OUNCE: ounces})
