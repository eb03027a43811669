"""From what was mixed for a pour to the materials it took, and the run-off that went back."""

from collections import Counter
from decimal import ROUND_HALF_UP

from inventory.mixing.mix_book import mix_book
from inventory.models import Material, Movement
from inventory.stock import ledger as stock
from pricing.costing.worth import prices
from pricing.errors import PourRefused
from pricing.estimating.mixes import fresh_mixes, recipes_of
from pricing.models import PourLayer
from studio.money import VALUE_PLACES, ZERO
from studio.units import QUANTITY_PLACES

RECLAIMED = "Reclaimed paint"


def reclaimed_paint(studio):
    """Return the material that run-off is kept as, made when it is first needed."""
    return Material.objects.get_or_create(
        studio=studio,
        name=RECLAIMED,
        defaults={"kind": Material.Kind.MIX, "notes": "Run-off kept for later base coats."},
    )[0]


def taken_by(palette, layers):
    """Return what a pour took: ({material: quantity} mixed there and then, {bottle: mL} of mixes).

    ``layers`` is {layer: LayerLog}. Colours are shared out as the palette says, what came from
    bottles included; what was taken from the pot of reclaimed paint is that material, and the rest
    of a layer is its recipe. Raises `PourRefused` for a bottle that is none of the layer's mixes.
    """
    book, needed, from_bottles = mix_book(palette.studio), Counter(), Counter()
    allowed = recipes_of(palette)
    for layer, log in layers.items():
        ready = Counter()
        for bottle, ml in log.mixes:
            ready[_recipe_in(bottle, layer, allowed, palette)] += ml
            from_bottles[bottle] += ml
        # What was mixed is what was mixed: no colour is raised to a minimum after the fact.
        fresh = log.mixed_ml - log.reclaimed_ml - ready.pop(None, ZERO)
        for recipe_id, volume_ml in fresh_mixes(palette, layer, fresh, ready):
            needed.update(book.materials_in(recipe_id, volume_ml))
        if log.reclaimed_ml:
            needed[reclaimed_paint(palette.studio)] += log.reclaimed_ml
    return _to_the_ledger(needed), _to_the_ledger(from_bottles)


def _recipe_in(bottle, layer, allowed, palette):
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


def _to_the_ledger(amounts):
    return {
        thing: quantity.quantize(QUANTITY_PLACES, ROUND_HALF_UP)
        for thing, quantity in amounts.items()
        if quantity
    }


def run_off(pour, layers):
    """Return the movement that keeps a pour's run-off as one bottle of reclaimed paint, if any.

    Its value is what the base mix it stands in for costs; the ledger keeps it where the studio
    values run-off so, and hands on the silicone of what was poured.
    """
    kept_ml = sum((log.kept_ml for log in layers.values()), ZERO)
    if not kept_ml:
        return []
    kept_ml = kept_ml.quantize(QUANTITY_PLACES, ROUND_HALF_UP)
    material = reclaimed_paint(pour.studio)
    value = _worth_of_base(pour, kept_ml)
    bottle = stock.Receipt(material=material, quantity=kept_ml, value=value)
    kept = Movement.Kind.RECLAIM
    return [stock.Move(kind=kept, material=material, quantity=kept_ml, new_bottle=bottle)]


def _worth_of_base(pour, kept_ml):
    """What ``kept_ml`` of this pour's own base mix costs."""
    needs = mix_book(pour.studio).materials_in(pour.palette.base_id, kept_ml)
    cost = sum((price.value for price in prices(pour.studio, needs).values()), ZERO)
    return cost.quantize(VALUE_PLACES, ROUND_HALF_UP)
