"""One layer at a time: forecast, what to mix, and which materials that is."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import ROUND_HALF_UP, Decimal

from inventory.mixing.mix_book import MixBook
from inventory.models import Material
from pricing.estimating import coverage
from pricing.estimating.mixes import layer_mixes
from pricing.estimating.resin import ResinPlan
from pricing.estimating.surfaces import Surface
from pricing.models import Palette
from studio.errors import in_words
from studio.money import ZERO
from studio.units import QUANTITY_PLACES, UnitsError, kitchen_measure, round_up_to_measure

LAYER_NAMES = {
    "base": "Base coat",
    "colours": "Colours",
    "activator": "Cell activator",
    "topcoat": "Topcoat",
}
# What a studio starts with, for estimates without one.
CONFIDENCE, CUP_LOSS = Decimal("0.90"), Decimal("0.05")


@dataclass(frozen=True)
class Need:
    """How much of a material: expected, cautious (one in ten takes more), and to have at hand."""

    median: Decimal
    high: Decimal
    to_mix: Decimal

    def __add__(self, other: "Need") -> "Need":
        return Need(self.median + other.median, self.high + other.high, self.to_mix + other.to_mix)


@dataclass(frozen=True)
class MixEstimate:
    """One mix of a layer: what to mix of it, [mL], and in kitchen measures."""

    recipe_id: int
    name: str
    to_mix_ml: Decimal
    measure: str


@dataclass(frozen=True)
class LayerEstimate:
    """One layer over all pieces together: what is poured, [mL], and what to mix for it.

    ``measure`` is the median and ``mix_measure`` what to mix, in kitchen measures; ``needed_ml`` is
    that before it was rounded up to a measure. ``materials`` is what mixing takes, what stays in
    the cups included.
    """

    layer: str
    low_ml: Decimal
    median_ml: Decimal
    high_ml: Decimal
    measure: str
    to_mix_ml: Decimal
    mix_measure: str
    outside_measured: bool = False
    mixes: tuple[MixEstimate, ...] = ()
    materials: dict[Material, Need] = field(default_factory=dict)
    note: str = ""
    plan: ResinPlan | None = None  # how a topcoat is poured
    needed_ml: Decimal = ZERO

    @property
    def name(self) -> str:
        """What the layer is called."""
        return LAYER_NAMES[self.layer]


def add_needs(*several: Mapping[Material, Need]) -> dict[Material, Need]:
    """Add {material: Need} mappings up."""
    total: dict[Material, Need] = {}
    for needs in several:
        for material, need in needs.items():
            total[material] = total[material] + need if material in total else need
    return total


def to_ml(value: Decimal | float) -> Decimal:
    """Return a volume as the database keeps it, to 0.001 mL."""
    return Decimal(str(float(value))).quantize(Decimal("0.001"), ROUND_HALF_UP)


def paint_layers(
    estimator: coverage.Estimator,
    surface: Surface,
    technique: str,
    count: int,
    *,
    measures: str,
    confidence: Decimal = CONFIDENCE,
    cup_loss: Decimal = CUP_LOSS,
    palette: Palette | None = None,
    book: MixBook | None = None,
) -> tuple[LayerEstimate, ...]:
    """Return the paint layers of ``count`` equal pieces, in the order they are poured."""
    with in_words(coverage.CoverageError):
        forecasts = estimator.forecasts(technique, surface.wetted_area_mm2, count)
    layers = []
    for name, forecast in forecasts.items():
        if name == "activator" and palette is not None and palette.activator_id is None:
            continue
        with in_words(coverage.CoverageError, UnitsError):
            needed = coverage.to_mix(
                forecast, confidence=float(confidence), cup_loss=float(cup_loss)
            )
            needed_ml = to_ml(needed)
            mixed_ml, mix_measure = round_up_to_measure(needed_ml, measures)
        mixed_ml = to_ml(mixed_ml)
        layer = LayerEstimate(
            layer=name,
            low_ml=to_ml(forecast.low),
            median_ml=to_ml(forecast.median),
            high_ml=to_ml(forecast.high),
            measure=kitchen_measure(forecast.median, measures),
            to_mix_ml=mixed_ml,
            mix_measure=mix_measure,
            outside_measured=forecast.outside_measured,
            needed_ml=needed_ml,
        )
        if palette and book:
            layer = _with_mixes(layer, palette, book, cup_loss, measures)
        layers.append(layer)
    return tuple(layers)


def _with_mixes(
    layer: LayerEstimate, palette: Palette, book: MixBook, cup_loss: Decimal, measures: str
) -> LayerEstimate:
    """Add to a layer its mixes and materials: expected, cautious, and to mix."""
    volumes = {
        "median": layer.median_ml / (1 - cup_loss),
        "high": layer.high_ml / (1 - cup_loss),
        "to_mix": layer.to_mix_ml,
    }
    taken: dict[str, dict[Material, Decimal]] = {}
    note = ""
    for case, volume_ml in volumes.items():
        split, note = layer_mixes(palette, layer.layer, to_ml(volume_ml))
        needed: defaultdict[Material, Decimal] = defaultdict(Decimal)
        for recipe_id, ml in split:
            for material, quantity in book.materials_in(recipe_id, ml).items():
                needed[material] += quantity
        taken[case] = needed
    mixes = tuple(
        MixEstimate(
            recipe_id, book.recipes[recipe_id].name, ml, round_up_to_measure(ml, measures)[1]
        )
        for recipe_id, ml in split
    )
    materials = {
        material: Need(*(_kept(taken[case][material]) for case in volumes))
        for material in taken["to_mix"]
    }
    return replace(layer, mixes=mixes, materials=materials, note=note)


def _kept(quantity: Decimal) -> Decimal:
    return Decimal(quantity).quantize(QUANTITY_PLACES, ROUND_HALF_UP)
