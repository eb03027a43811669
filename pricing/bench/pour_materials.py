"""The materials that a pour takes, from what was mixed for it, and the run-off it gives back."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

from django.utils import timezone

from inventory.mixing.mix_book import mix_book
from inventory.mixing.proportions.dilution import DILUTED_DAYS
from inventory.mixing.questions import keeps_days
from inventory.models import Bottle, Material, Movement
from inventory.stock import ledger as stock
from inventory.stock.costing import Scraped
from pricing.errors import PourRefused
from pricing.estimating.mixes import fresh_mixes, recipes_of
from pricing.models import Palette, Pour, PourLayer
from studio.models import Studio
from studio.money import ZERO
from studio.text import shortened
from studio.units import QUANTITY_PLACES

RECLAIMED = "Reclaimed paint"
# What steps took, beside the layers.
BEFORE_THE_POUR = "steps"
ML_PLACES = Decimal("0.001")
DENSITY_PLACES = Decimal("0.0001")
# How much of something each layer took, in the thing's own unit.
ByLayer = dict[str, Decimal]


@dataclass(frozen=True)
class LayerLog:
    """One layer of a pour, all pieces together, [mL].

    ``mixed_ml`` is what was mixed, ``left_ml`` what stayed in the cups, ``kept_ml`` the run-off
    scraped back into the pot. ``reclaimed_ml`` is how much of the mix was run-off kept earlier, and
    ``mixes`` says, as (bottle, mL) pairs, what of it came from bottles of mix; the rest was mixed
    from its recipes there and then.
    """

    mixed_ml: Decimal
    left_ml: Decimal = ZERO
    kept_ml: Decimal = ZERO
    reclaimed_ml: Decimal = ZERO
    mixes: tuple[tuple[Bottle, Decimal], ...] = ()

    @property
    def from_mixes_ml(self) -> Decimal:
        """What came from bottles of mix, [mL]."""
        return sum((ml for _, ml in self.mixes), ZERO)

    @property
    def scraped(self) -> Scraped:
        """The run-off kept, and what was mixed, as the pour's layer keeps both."""
        return Scraped(
            self.kept_ml.quantize(ML_PLACES, ROUND_HALF_UP),
            self.mixed_ml.quantize(ML_PLACES, ROUND_HALF_UP),
        )


def reclaimed_paint(studio: Studio) -> Material:
    """Return the material that run-off is kept as, made when it is first needed."""
    return Material.objects.get_or_create(
        studio=studio,
        name=RECLAIMED,
        defaults={"kind": Material.Kind.MIX, "notes": "Run-off kept for later base coats."},
    )[0]


def layer_uses(
    palette: Palette, layers: Mapping[str, LayerLog]
) -> tuple[dict[Material, ByLayer], dict[Bottle, ByLayer]]:
    """Return what each layer of a pour took: of materials, mixed there and then, and of bottles.

    Colours are shared out as the palette says, what came from bottles included; what was taken from
    the pot of reclaimed paint is that material, and the rest of a layer is its recipe. Raises
    `PourRefused` for a bottle that is none of the layer's mixes.
    """
    book, allowed = mix_book(palette.studio), recipes_of(palette)
    materials: dict[Material, ByLayer] = defaultdict(lambda: defaultdict(Decimal))
    from_bottles: dict[Bottle, ByLayer] = defaultdict(lambda: defaultdict(Decimal))
    for layer, log in layers.items():
        ready: defaultdict[int, Decimal] = defaultdict(Decimal)
        fresh = log.mixed_ml - log.reclaimed_ml
        for bottle, ml in log.mixes:
            from_bottles[bottle][layer] += ml
            recipe = _recipe_in(bottle, layer, allowed, palette)
            if recipe is None:
                fresh -= ml
            else:
                ready[recipe] += ml
        # What was mixed is what was mixed: no colour is raised to a minimum after the fact.
        for recipe_id, volume_ml in fresh_mixes(palette, layer, fresh, ready):
            for material, quantity in book.materials_in(recipe_id, volume_ml).items():
                materials[material][layer] += quantity
        if log.reclaimed_ml:
            materials[reclaimed_paint(palette.studio)][layer] += log.reclaimed_ml
    return materials, from_bottles


def _recipe_in(
    bottle: Bottle, layer: str, allowed: Mapping[str, set[int]], palette: Palette
) -> int | None:
    """Return the recipe that a bottle's mix counts for in a layer; None for reclaimed paint."""
    material = bottle.material
    if bottle.studio_id != palette.studio_id:
        raise PourRefused("There is no bottle like that in this studio.")
    recipe = getattr(material, "recipe", None)
    if recipe is not None and recipe.pk in allowed[layer]:
        return recipe.pk
    if layer == "base" and material.kind == Material.Kind.MIX and material.name == RECLAIMED:
        return None
    raise PourRefused(
        f"{bottle.code} {material} is not a mix of the {PourLayer.Layer(layer).label.lower()} of "
        f"{palette}. Take it out of this layer, or pour with a palette that has it."
    )


def use_movements(
    materials: Mapping[Material, ByLayer],
    from_bottles: Mapping[Bottle, ByLayer],
    steps: Mapping[Material, Decimal],
) -> list[stock.StockMove]:
    """Return the movements that take from the shelf what the layers took, see `layer_uses`.

    ``steps`` is {material: amount} that the steps before the pour used; what a layer took of it too
    is one movement with it, so that both cost the same.
    """

    def out(material: Material, layers: ByLayer, bottle: Bottle | None = None) -> stock.StockMove:
        quantity = _to_the_ledger(sum(layers.values(), ZERO))
        return stock.StockMove(Movement.Kind.USE, material, -quantity, bottle=bottle, layers=layers)

    taken = {material: dict(layers) for material, layers in materials.items()}
    for material, amount in steps.items():
        taken.setdefault(material, {})[BEFORE_THE_POUR] = amount
    return [
        *(out(material, layers) for material, layers in taken.items() if material.is_stocked),
        *(out(bottle.material, layers, bottle) for bottle, layers in from_bottles.items()),
    ]


def run_off(
    pour: Pour,
    layers: Mapping[str, LayerLog],
    materials: Mapping[Material, ByLayer],
    from_bottles: Mapping[Bottle, ByLayer],
) -> list[stock.StockMove]:
    """Return the movement that keeps a pour's run-off as one bottle of reclaimed paint, if any.

    It replaces base mix in later pours; the ledger values it, as far as the studio values run-off,
    and hands on the silicone of what was poured and the first day any of it ends. It weighs what
    its layers weigh, keeps no longer than their mixes, and says what colours it is of.
    """
    kept_ml = _to_the_ledger(sum((log.kept_ml for log in layers.values()), ZERO))
    if not kept_ml:
        return []
    material = reclaimed_paint(pour.studio)
    return [
        stock.StockMove(
            kind=Movement.Kind.RECLAIM,
            material=material,
            quantity=kept_ml,
            new_bottle=stock.Receipt(
                material=material,
                quantity=kept_ml,
                value=None,
                density_g_per_ml=kept_density(layers, materials, from_bottles),
                expires_on=_kept_until(pour, layers),
                colours=_colours_in(pour, layers, from_bottles),
            ),
            run_off={layer: log.scraped for layer, log in layers.items()},
            instead_of=PourLayer.Layer.BASE,
        )
    ]


def kept_density(
    layers: Mapping[str, LayerLog],
    materials: Mapping[Material, ByLayer],
    from_bottles: Mapping[Bottle, ByLayer],
) -> Decimal | None:
    """Return the density of run-off that is kept, [g/mL]: that of its layers, by how much of each.

    None where the density of something that went in is not known.
    """
    mass = kept_ml = ZERO
    things: list[tuple[Material | Bottle, ByLayer]] = [*materials.items(), *from_bottles.items()]
    for layer, log in layers.items():
        if not log.kept_ml:
            continue
        parts = [
            (_density(thing), _ml(thing, took[layer])) for thing, took in things if layer in took
        ]
        if any(density is None or ml is None for density, ml in parts):
            return None
        volume = sum((ml for _, ml in parts if ml), ZERO)
        if not volume:
            return None
        weight = sum((density * ml for density, ml in parts if density and ml), ZERO)
        mass += log.kept_ml * weight / volume
        kept_ml += log.kept_ml
    return (mass / kept_ml).quantize(DENSITY_PLACES, ROUND_HALF_UP) if kept_ml else None


def _density(thing: Material | Bottle) -> Decimal | None:
    return thing.density if isinstance(thing, Bottle) else thing.density_g_per_ml


def _ml(thing: Material | Bottle, quantity: Decimal) -> Decimal | None:
    material = thing.material if isinstance(thing, Bottle) else thing
    if material.unit != Material.Unit.G:
        return quantity
    density = _density(thing)
    return quantity / density if density else None


def _kept_until(pour: Pour, layers: Mapping[str, LayerLog]) -> date:
    """Return the last day of run-off: of the mixes in it, or of any paint that was thinned."""
    book = mix_book(pour.studio)
    names = recipes_of(pour.palette)
    kept = {key for layer, log in layers.items() if log.kept_ml for key in names[layer]}
    days = [days for key in kept if (days := keeps_days(book, book.recipes[key])) is not None]
    first_day = timezone.localtime(pour.poured_at, pour.studio.zone).date()
    return first_day + timedelta(days=min(days, default=DILUTED_DAYS))


def _colours_in(
    pour: Pour, layers: Mapping[str, LayerLog], from_bottles: Mapping[Bottle, ByLayer]
) -> str:
    """Return the names of what was kept, such as “White base, Blue mix, Gold mix”."""
    names = recipes_of(pour.palette)
    kept = [layer for layer, log in layers.items() if log.kept_ml]
    book = mix_book(pour.studio)
    words = [book.recipes[key].name for layer in kept for key in sorted(names[layer])]
    words += [one.colours for one, took in from_bottles.items() if set(kept) & set(took)]
    return shortened(", ".join(dict.fromkeys(filter(None, words))), 120)


def _to_the_ledger(quantity: Decimal) -> Decimal:
    return quantity.quantize(QUANTITY_PLACES, ROUND_HALF_UP)
