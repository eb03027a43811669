"""A table of amounts to hang on the wall: the studio's sizes by its techniques, for one piece."""

from dataclasses import dataclass
from decimal import Decimal

from pricing.estimating import coverage
from pricing.estimating.layers import LAYER_NAMES, to_ml
from pricing.estimating.learning import estimator_for
from pricing.estimating.sizes import geometry, read_surface
from pricing.models import Technique
from studio.errors import StudioError, in_words
from studio.models import Studio
from studio.pdf import paper, render_pdf
from studio.units import UnitsError, kitchen_measure, round_up_to_measure

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
    """One technique: its layers' names, and a row for each size, the smallest first."""

    technique: Technique
    layers: tuple[str, ...]
    rows: tuple[Row, ...]

    @property
    def has_outside(self) -> bool:
        """Whether any amount is for a size far from what has been measured."""
        return any(one.outside_measured for row in self.rows for one in row.amounts)


def size_table(studio: Studio) -> tuple[Page, ...]:
    """Return a `Page` for each technique the studio offers, from one factorisation a layer."""
    sizes = _sizes(studio)
    techniques = list(studio.techniques.filter(is_offered=True))
    cells = [
        (technique.slug, layer, area_mm2, 1)
        for technique in techniques
        for _, area_mm2 in sizes
        for layer in coverage.LAYERS_OF[technique.slug]
    ]
    with in_words(coverage.CoverageError):
        forecasts = iter(estimator_for(studio).forecast_many(cells))
    return tuple(
        Page(
            technique=technique,
            layers=tuple(LAYER_NAMES[layer] for layer in coverage.LAYERS_OF[technique.slug]),
            rows=tuple(
                Row(
                    size,
                    tuple(
                        _amount(next(forecasts), studio) for _ in coverage.LAYERS_OF[technique.slug]
                    ),
                )
                for size, _ in sizes
            ),
        )
        for technique in techniques
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


def _sizes(studio: Studio) -> list[tuple[str, float]]:
    """Return (name, wetted area of one piece [mm^2]) by area; what is no surface is left out."""
    found = []
    for kept in studio.surfaces.filter(archived_at=None):
        try:
            found.append((kept.name, geometry(kept).wetted_area_mm2))
        except StudioError:
            continue
    found = found or [(size, read_surface(size).wetted_area_mm2) for size in COMMON_SIZES]
    return sorted(found, key=lambda one: (one[1], one[0]))


def _amount(forecast: coverage.Forecast, studio: Studio) -> Amount:
    with in_words(coverage.CoverageError, UnitsError):
        needed = coverage.to_mix(
            forecast, confidence=float(studio.mix_confidence), cup_loss=float(studio.cup_loss)
        )
        mixed_ml, mix_measure = round_up_to_measure(to_ml(needed), studio.measures)
    return Amount(
        layer=forecast.layer,
        median_ml=to_ml(forecast.median),
        measure=kitchen_measure(forecast.median, studio.measures),
        to_mix_ml=to_ml(mixed_ml),
        mix_measure=mix_measure,
        outside_measured=forecast.outside_measured,
    )
