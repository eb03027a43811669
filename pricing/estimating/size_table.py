"""A table of amounts to hang on the wall: the studio's sizes by its techniques, for one piece."""

from dataclasses import dataclass
from decimal import Decimal

from pricing.estimating import coverage
from pricing.estimating.enough import MixingRules, NeededLayer, needed_for_job, to_ml
from pricing.estimating.layers import LAYER_NAMES, line_of
from pricing.estimating.learning import estimator_for
from pricing.estimating.sessions import to_mix
from pricing.estimating.sizes import geometry, read_surface
from pricing.estimating.surfaces import Surface
from pricing.models import Technique
from studio.errors import StudioError, in_words
from studio.models import Studio
from studio.pdf import paper, render_pdf
from studio.units import kitchen_measure

# Shown while a studio keeps no sizes of its own.
COMMON_SIZES = ("4 × 4 × ¼ in", "4 in round", "8 × 8 × 1½ in", "8 × 10 in", "12 × 12 × 1½ in")


@dataclass(frozen=True)
class Amount:
    """What one layer takes on one piece: expected, and to mix, [mL] and in kitchen measures."""

    layer: str
    median_ml: Decimal
    measure: str
    to_mix_ml: Decimal
    mix_measure: str
    outside_measured: bool


@dataclass(frozen=True)
class Row:
    """One size and its layers, in the order they are poured."""

    size: str
    amounts: tuple[Amount, ...]


@dataclass(frozen=True)
class Page:
    """One technique over one base: its layers' names, and a row for each size, smallest first."""

    technique: Technique
    base: str
    layers: tuple[str, ...]
    rows: tuple[Row, ...]

    @property
    def name(self) -> str:
        """What is poured."""
        return self.technique.over(self.base)

    @property
    def has_outside(self) -> bool:
        """Whether any amount is for a size far from what has been measured."""
        return any(one.outside_measured for row in self.rows for one in row.amounts)


def size_table(studio: Studio) -> tuple[Page, ...]:
    """Return a `Page` for each technique the studio offers, from one factorisation.

    What is poured over a thin or a flooded base has one for each.
    """
    sizes = _sizes(studio)
    kinds = [
        (technique, base)
        for technique in studio.techniques.filter(is_offered=True)
        for base in coverage.BASES_OF[technique.slug] or ("",)
    ]
    lines = [
        line_of(surface, technique.slug, base=base)
        for technique, base in kinds
        for _, surface in sizes
    ]
    with in_words(coverage.CoverageError):
        jobs = iter(estimator_for(studio).jobs(lines))
    return tuple(
        Page(
            technique=technique,
            base=base,
            layers=tuple(LAYER_NAMES[layer] for layer in coverage.LAYERS_OF[technique.slug]),
            rows=tuple(Row(size, _amounts(next(jobs), studio)) for size, _ in sizes),
        )
        for technique, base in kinds
    )


def size_table_pdf(studio: Studio) -> bytes:
    """Return the table as the bytes of a PDF to hang beside the bench."""
    context = {
        "studio": studio,
        "paper": paper(studio.locale),
        "pages": size_table(studio),
        "day": studio.today(),
    }
    return render_pdf("pricing/estimating/pdf/size_table.html", context)


def _sizes(studio: Studio) -> list[tuple[str, Surface]]:
    """Return (name, surface) by the area of one piece; what is no surface is left out."""
    sizes = []
    for saved in studio.surfaces.filter(archived_at=None):
        try:
            sizes.append((saved.name, geometry(saved)))
        except StudioError:
            continue
    sizes = sizes or [(size, read_surface(size)) for size in COMMON_SIZES]
    return sorted(sizes, key=lambda one: (one[1].wetted_area_mm2, one[0]))


def _amounts(job: coverage.Job, studio: Studio) -> tuple[Amount, ...]:
    rules = MixingRules(studio.measures, studio.mix_confidence, studio.cup_loss)
    with in_words(coverage.CoverageError):
        (needed,) = needed_for_job(job, [None], rules)
    return tuple(_amount(one, studio) for one in needed.layers)


def _amount(needed: NeededLayer, studio: Studio) -> Amount:
    forecast = needed.forecast
    mixed_ml, mix_measure = to_mix(needed.needed_ml, studio.measures, needed.least_ml)
    return Amount(
        layer=forecast.layer,
        median_ml=to_ml(forecast.median),
        measure=kitchen_measure(forecast.median, studio.measures),
        to_mix_ml=mixed_ml,
        mix_measure=mix_measure,
        outside_measured=forecast.outside_measured,
    )
