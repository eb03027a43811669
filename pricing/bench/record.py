"""The record: what was forecast before each pour beside what it took, and beside two plain rules.

Forecasts, and what the rules said, are kept with a pour when it is logged; nothing is forecast anew
here. Pours that were undone or left out are left out.
"""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from typing import NamedTuple, TypeVar
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from pricing.estimating import coverage
from pricing.estimating.coverage import Score
from pricing.models import Pour, PourLayer, Technique
from studio.amounts import as_float
from studio.models import Studio

AREA, OUNCE = "area scaling", "1 fl oz on 25 in²"
VOLUMES = (
    *("forecast_low_ml", "forecast_median_ml", "forecast_high_ml"),
    *("mixed_ml", "left_ml", "scaled_ml", "pour__rule_ml"),
)
Key = TypeVar("Key", bound=Hashable)


class Told(NamedTuple):
    """One layer of one pour, all its pieces together, [mL]; ``rule_ml`` is of the whole pour."""

    pour: int
    month: date
    technique: str
    low_ml: float
    median_ml: float
    high_ml: float
    poured_ml: float
    scaled_ml: float | None
    rule_ml: float | None

    @property
    def inside(self) -> bool:
        """Whether what was poured lay within the 80 % interval."""
        return self.low_ml <= self.poured_ml <= self.high_ml


@dataclass(frozen=True)
class MonthScore:
    """A month of the record, named by its first day: its layers and its whole pours."""

    month: date
    layers: Score
    pours: Score


@dataclass(frozen=True)
class Scores:
    """How good a studio's forecasts were.

    ``overall`` and ``by_technique`` score them layer by layer beside area scaling; ``totals``
    scores whole pours, all layers together, beside both plain rules (its share inside is that of
    the summed ranges). ``months`` has both for each month, the newest first; ``rows`` is what is
    scored, the newest first.
    """

    overall: Score
    by_technique: dict[str, Score]
    totals: Score
    totals_by_technique: dict[str, Score]
    months: tuple[MonthScore, ...]
    rows: tuple[Told, ...]


def recorded_pours(studio: Studio) -> QuerySet[Pour]:
    """Return the pours of which something was forecast, newest first."""
    forecast = PourLayer.objects.exclude(forecast_median_ml=None).values("pour")
    pours = studio.pours.to_learn_from().filter(pk__in=forecast)
    return pours.order_by("-poured_at", "-pk")


def recorded_layers(studio: Studio, last: int | None = None) -> QuerySet[PourLayer]:
    """Return the layers that were forecast, of the last so many pours or of all, newest first."""
    pours = recorded_pours(studio)
    if last is not None:
        pours = studio.pours.filter(pk__in=pours.values("pk")[:last])
    rows = PourLayer.objects.filter(pour__in=pours.order_by()).exclude(forecast_median_ml=None)
    return rows.order_by("-pour__poured_at", "-pour", "-pk")


def scores(studio: Studio, last: int | None = None) -> Scores:
    """Return the `Scores` of a studio's last so many pours, or of all, in one query."""
    rows = _told(studio, last)
    by_technique = _by(rows, lambda row: row.technique)
    techniques = [slug.value for slug in Technique.Slug if slug in by_technique]
    by_month = _by(rows, lambda row: row.month)
    return Scores(
        overall=_score(rows),
        by_technique={slug: _score(by_technique[slug]) for slug in techniques},
        totals=_totals(rows),
        totals_by_technique={slug: _totals(by_technique[slug]) for slug in techniques},
        months=tuple(
            MonthScore(month, _score(some), _totals(some)) for month, some in by_month.items()
        ),
        rows=tuple(rows),
    )


def _told(studio: Studio, last: int | None) -> list[Told]:
    """Return the layers that were forecast, newest first."""
    zone = ZoneInfo(studio.time_zone)
    names = ("pour", "pour__poured_at", "pour__technique__slug")
    volumes = {f"{name}_float": as_float(name) for name in VOLUMES}
    layers = recorded_layers(studio, last).annotate(**volumes).values_list(*names, *volumes)
    return [
        Told(pour, _month(at, zone), slug, low, median, high, mixed - left, scaled, rule)
        for pour, at, slug, low, median, high, mixed, left, scaled, rule in layers.iterator()
    ]


def _month(moment: datetime, zone: ZoneInfo) -> date:
    return moment.astimezone(zone).date().replace(day=1)


def _by(rows: Iterable[Told], key: Callable[[Told], Key]) -> dict[Key, list[Told]]:
    groups: defaultdict[Key, list[Told]] = defaultdict(list)
    for row in rows:
        groups[key(row)].append(row)
    return dict(groups)


def _score(rows: Sequence[Told]) -> Score:
    return coverage.score(
        [(row.low_ml, row.median_ml, row.high_ml) for row in rows],
        [row.poured_ml for row in rows],
        {AREA: [row.scaled_ml for row in rows]},
    )


def _totals(rows: Sequence[Told]) -> Score:
    """Return the scores of whole pours; area scaling counts where it has every layer."""
    ranges, actuals, scaled, ounces = [], [], [], []
    for _, some in groupby(rows, key=lambda row: row.pour):
        layers = list(some)
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
        ounces.append(layers[0].rule_ml)
    return coverage.score(ranges, actuals, {AREA: scaled, OUNCE: ounces})
