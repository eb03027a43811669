"""How equal pieces are made: what any number of them takes, in as many sessions as there are."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from inventory.mixing.mix_book import MixBook
from inventory.models import Material
from pricing.estimating import coverage
from pricing.estimating.enough import MixingRules, NeededLayer, needed_for_job, to_ml
from pricing.estimating.layers import LAYER_NAMES, Need, spent, to_quantity
from pricing.estimating.mixes import fresh_mixes
from pricing.estimating.mixing import Spent
from pricing.estimating.resins import Topcoat, coat_to_mix, kit_materials
from pricing.estimating.sessions import session_mix
from pricing.estimating.surfaces import Surface
from pricing.models import Palette
from studio.errors import in_words
from studio.models import Studio
from studio.money import ZERO

# How many sizes of a session are worked out: of more, those between are taken from both beside.
MOST_SIZES = 12

Times = tuple[tuple[int, Decimal], ...]
Sessions = tuple[Times, Times]


@dataclass(frozen=True)
class LayerUse:
    """What one layer takes over some sessions, on average; no cautious case is told apart."""

    layer: str
    spent: Spent
    materials: dict[Material, Need] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """What the layer is called."""
        return LAYER_NAMES[self.layer]


@dataclass(frozen=True)
class Making:
    """Equal pieces: a surface, what the estimator is asked about, a palette and a topcoat.

    ``line`` is so many of them, and can be asked about for any number. ``book`` holds the palette's
    mixes; without both it is not known what the paint is made of.
    """

    studio: Studio
    estimator: coverage.Estimator
    surface: Surface
    line: coverage.Line
    rules: MixingRules
    palette: Palette | None = None
    book: MixBook | None = None
    topcoat: Topcoat | None = None
    _known: dict[Sessions, tuple[LayerUse, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )

    def over(
        self, pours: Mapping[int, Decimal], coats: Mapping[int, Decimal]
    ) -> tuple[LayerUse, ...]:
        """Return what each layer takes in pours, and in coats, of so many pieces so many times.

        Each session is mixed for by itself; the times are {pieces: times}, and need not be whole.
        """
        key = tuple(pours.items()), tuple(coats.items())
        if key not in self._known:
            self._known[key] = (*self._paint(few_sizes(pours)), *self._resin(few_sizes(coats)))
        return self._known[key]

    def _paint(self, pours: Mapping[int, Decimal]) -> Iterable[LayerUse]:
        if not pours:
            return
        lines = [replace(self.line, count=count) for count in pours]
        with in_words(coverage.CoverageError):
            needed = [
                needed_for_job(job, [self.palette], self.rules)[0].layers
                for job in self.estimator.jobs(lines)
            ]
        for of_layer in zip(*needed, strict=True):
            yield self._layer(zip(of_layer, pours.values(), strict=True))

    def _layer(self, sessions: Iterable[tuple[NeededLayer, Decimal]]) -> LayerUse:
        layer = ""
        total = Spent(ZERO, ZERO, ZERO, ZERO)
        to_mix: defaultdict[int, Decimal] = defaultdict(lambda: ZERO)
        used: defaultdict[int, Decimal] = defaultdict(lambda: ZERO)
        for one, times in sessions:
            layer = one.layer
            mixed_ml = session_mix(
                layer, [one.needed_ml], self.rules.measures, self.palette, one.least_ml
            ).volume_ml
            goes = spent(one.forecast, mixed_ml, self.rules)
            total += goes.times(times)
            for recipe, ml in (
                fresh_mixes(self.palette, layer, mixed_ml, {}) if self.palette else ()
            ):
                to_mix[recipe] += ml * times
                used[recipe] += ml * times * goes.used / mixed_ml
        materials: defaultdict[Material, Need] = defaultdict(lambda: Need(ZERO, ZERO, ZERO))
        for recipe, ml in to_mix.items():
            for material, quantity in self._inside(recipe, ml).items():
                part = to_quantity(quantity * used[recipe] / ml)
                materials[material] += Need(part, part, quantity)
        return LayerUse(layer, total, dict(materials))

    def _inside(self, recipe: int, ml: Decimal) -> dict[Material, Decimal]:
        return self.book.materials_in(recipe, to_ml(ml)) if self.book else {}

    def _resin(self, coats: Mapping[int, Decimal]) -> Iterable[LayerUse]:
        if self.topcoat is None or not coats:
            return
        mixed_ml = to_ml(
            sum(
                (
                    coat_to_mix(self.studio, self.surface, count, self.topcoat) * times
                    for count, times in coats.items()
                ),
                ZERO,
            )
        )
        if mixed_ml > 0:
            parts = kit_materials(self.topcoat.kit, mixed_ml)
            needs = {material: Need(*[quantity] * 3) for material, quantity in parts.items()}
            yield LayerUse("topcoat", Spent(mixed_ml, mixed_ml, mixed_ml, ZERO), needs)


def few_sizes(times: Mapping[int, Decimal]) -> dict[int, Decimal]:
    """Return sessions of a few sizes only, with as many sessions and pieces as there are.

    A session of a size between is shared by the sizes beside it: where one takes what it takes by
    the piece and once, that is the same.
    """
    if len(times) <= MOST_SIZES:
        return dict(times)
    smallest, largest = min(times), max(times)
    ratio = (largest / smallest) ** (1 / (MOST_SIZES - 1))
    sizes = sorted({round(smallest * ratio**place) for place in range(MOST_SIZES)})
    few = dict.fromkeys(sizes, ZERO)
    for count, several in times.items():
        above = next(size for size in sizes if size >= count)
        below = next(size for size in reversed(sizes) if size <= count)
        share = Decimal(count - below) / (above - below) if above > below else ZERO
        few[above] += several * share
        few[below] += several * (1 - share)
    return {count: several for count, several in few.items() if several}
