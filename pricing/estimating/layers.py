"""One layer at a time: forecast, what to mix, and which materials that is."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal

from inventory.mixing.mix_book import MixBook
from inventory.mixing.proportions import MixingError
from inventory.models import Material
from pricing.estimating import coverage, mixing
from pricing.estimating.enough import MixingRules, NeededLayer, NeededPaint, to_ml
from pricing.estimating.mixes import fresh_mixes
from pricing.estimating.resin import ResinPlan
from pricing.estimating.sessions import SessionMix, session_mix
from pricing.estimating.surfaces import Surface
from pricing.models import Palette
from studio.errors import in_words
from studio.money import ZERO
from studio.units import QUANTITY_PLACES, kitchen_measure, round_up_to_measure

LAYER_NAMES = {
    "base": "Base coat",
    "colours": "Colours",
    "activator": "Cell activator",
    "topcoat": "Topcoat",
}


@dataclass(frozen=True)
class Need:
    """How much of a material: used up, the same if more is poured (one in ten), and mixed.

    What is used up is what is mixed less what stays in a bottle of mix.
    """

    used: Decimal
    high: Decimal
    to_mix: Decimal

    def __add__(self, other: "Need") -> "Need":
        return Need(self.used + other.used, self.high + other.high, self.to_mix + other.to_mix)


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
    that before it was rounded to a measure, and ``least_ml`` what will do where the next measure up
    is much more. ``spent`` says where what is mixed goes.
    ``materials`` is what mixing takes, what stays in the cups included.
    """

    layer: str
    low_ml: Decimal
    median_ml: Decimal
    high_ml: Decimal
    measure: str
    mix_measure: str
    spent: mixing.Spent
    outside_measured: bool = False
    mixes: tuple[MixEstimate, ...] = ()
    materials: dict[Material, Need] = field(default_factory=dict)
    note: str = ""
    plan: ResinPlan | None = None  # how a topcoat is poured
    needed_ml: Decimal = ZERO
    least_ml: Decimal = ZERO

    @property
    def name(self) -> str:
        """What the layer is called."""
        return LAYER_NAMES[self.layer]

    @property
    def to_mix_ml(self) -> Decimal:
        """What to mix, [mL]."""
        return self.spent.mixed


def add_needs(*several: Mapping[Material, Need]) -> dict[Material, Need]:
    """Add {material: Need} mappings up."""
    total: dict[Material, Need] = {}
    for needs in several:
        for material, need in needs.items():
            total[material] = total[material] + need if material in total else need
    return total


def whole_items(material: Material | None, count: int) -> dict[Material, Need]:
    """Return {material: Need} of so many whole items; nothing without a material."""
    if material is None:
        return {}
    return {material: Need(Decimal(count), Decimal(count), Decimal(count))}


def line_of(surface: Surface, technique: str, count: int = 1, base: str = "") -> coverage.Line:
    """Return equal pieces as the estimator is asked about them.

    ``base`` is what the technique is poured over; empty where it has one only or it is not told.
    """
    area_mm2 = surface.wetted_area_mm2
    with in_words(coverage.CoverageError):
        return coverage.Line(technique, area_mm2, count, surface.side_area_mm2 / area_mm2, base)


def paint_layers(
    needed: NeededPaint,
    rules: MixingRules,
    palette: Palette | None = None,
    book: MixBook | None = None,
) -> tuple[LayerEstimate, ...]:
    """Return the paint layers of pieces that are mixed for by themselves."""
    return tuple(
        mixed_layer(
            one,
            session_mix(one.layer, [one.needed_ml], rules.measures, palette, one.least_ml),
            0,
            rules,
            palette,
            book,
        )
        for one in needed.layers
    )


def mixed_layer(
    needed: NeededLayer,
    session: SessionMix,
    place: int,
    rules: MixingRules,
    palette: Palette | None = None,
    book: MixBook | None = None,
) -> LayerEstimate:
    """Return a layer with its portion of what a session mixes: that of the work at a ``place``."""
    forecast, mixed_ml = needed.forecast, session.portions[place]
    is_alone = mixed_ml == session.volume_ml
    expected, cautious = mixed_cases(forecast, mixed_ml, rules)
    materials: dict[Material, Need] = {}
    mixes: list[tuple[int, Decimal]] = []
    if palette is not None and book is not None:
        mixes = fresh_mixes(palette, forecast.layer, mixed_ml, {})
        materials = _materials(mixes, book, expected, cautious)
    return LayerEstimate(
        layer=forecast.layer,
        low_ml=to_ml(forecast.low),
        median_ml=to_ml(forecast.median),
        high_ml=to_ml(forecast.high),
        measure=kitchen_measure(forecast.median, rules.measures),
        mix_measure=session.measure if is_alone else kitchen_measure(mixed_ml, rules.measures),
        spent=expected,
        outside_measured=forecast.outside_measured,
        mixes=tuple(
            MixEstimate(key, book.recipes[key].name, ml, round_up_to_measure(ml, rules.measures)[1])
            for key, ml in mixes
            if book is not None and ml
        ),
        materials=materials,
        note=session.note if is_alone else "",
        needed_ml=needed.needed_ml,
        least_ml=needed.least_ml,
    )


def spent(forecast: coverage.Forecast, mixed_ml: Decimal, rules: MixingRules) -> mixing.Spent:
    """Return where what is mixed of a layer goes, on average over all it may take."""
    return mixed_cases(forecast, mixed_ml, rules)[0]


def mixed_cases(
    forecast: coverage.Forecast, mixed_ml: Decimal, rules: MixingRules
) -> tuple[mixing.Spent, mixing.Spent]:
    """Return where what is mixed goes: on average, and where one in ten takes more.

    No more is poured than was mixed, but for the cautious case, for which more is mixed.
    """
    let_go = 1 - rules.cup_loss
    poured_ml = to_ml(coverage.to_pour(forecast, float(mixed_ml * let_go)))
    high_ml = to_ml(forecast.high)
    keeping = rules.keeping
    saved = keeping.saved.get(forecast.layer, ZERO)
    scraped = keeping.scraped.get(forecast.layer, ZERO)
    with in_words(MixingError):
        cases = [
            mixing.spent(
                mixed, poured, cup_loss=rules.cup_loss, saved_share=saved, scraped_share=scraped
            )
            for mixed, poured in (
                (mixed_ml, poured_ml),
                (max(mixed_ml, to_ml(high_ml / let_go)), high_ml),
            )
        ]
    return cases[0], cases[1]


def _materials(
    mixes: Sequence[tuple[int, Decimal]],
    book: MixBook,
    expected: mixing.Spent,
    cautious: mixing.Spent,
) -> dict[Material, Need]:
    """Return {material: Need} of some mixes of a layer, used up as the layer is."""
    to_mix: defaultdict[Material, Decimal] = defaultdict(Decimal)
    for recipe_id, ml in mixes:
        for material, quantity in book.materials_in(recipe_id, ml).items():
            to_mix[material] += quantity
    used, high = (one.used / expected.mixed for one in (expected, cautious))
    return {
        material: Need(to_quantity(quantity * used), to_quantity(quantity * high), quantity)
        for material, quantity in to_mix.items()
    }


def to_quantity(quantity: Decimal) -> Decimal:
    """Return a quantity as the ledger keeps it, to 0.0001."""
    return Decimal(quantity).quantize(QUANTITY_PLACES, ROUND_HALF_UP)
