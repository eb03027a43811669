"""From what was mixed for a pour to the materials it took, and the run-off that went back."""

from collections import Counter
from decimal import ROUND_HALF_UP, Decimal

from inventory import stock
from inventory.costing import QUANTITY_PLACES, VALUE_PLACES
from inventory.mix_book import mix_book
from inventory.models import Material, Movement
from pricing.mixes import layer_mixes
from pricing.worth import prices
from studio.models import Studio

ZERO = Decimal(0)
RECLAIMED = "Reclaimed paint"


def reclaimed_paint(studio):
    """Return the material that run-off is kept as, made when it is first needed."""
    return Material.objects.get_or_create(
        studio=studio,
        name=RECLAIMED,
        defaults={"kind": Material.Kind.MIX, "notes": "Run-off kept for later base coats."},
    )[0]


def materials_mixed(palette, layers):
    """Return {material: quantity} that the mixes of a pour took, each in its own unit.

    ``layers`` is {layer: LayerLog}. Colours are shared out as the palette says; what was taken from
    the pot of reclaimed paint is that material, the rest of the layer is its recipe.
    """
    book, needed = mix_book(palette.studio), Counter()
    for layer, log in layers.items():
        fresh = log.mixed_ml - log.reclaimed_ml
        # What was mixed is what was mixed: no colour is raised to a minimum after the fact.
        mixes, _ = layer_mixes(palette, layer, fresh, minimum_ml=ZERO)
        for recipe_id, volume_ml in mixes:
            needed.update(book.materials_in(recipe_id, volume_ml))
        if log.reclaimed_ml:
            needed[reclaimed_paint(palette.studio)] += log.reclaimed_ml
    return {
        material: quantity.quantize(QUANTITY_PLACES, ROUND_HALF_UP)
        for material, quantity in needed.items()
    }


def run_off(pour, layers):
    """Return the movement that keeps a pour's run-off as one bottle of reclaimed paint, if any.

    It is worth what the base mix it stands in for costs, or nothing, as the studio chose.
    """
    kept_ml = sum((log.kept_ml for log in layers.values()), ZERO)
    if not kept_ml:
        return []
    kept_ml = kept_ml.quantize(QUANTITY_PLACES, ROUND_HALF_UP)
    value = ZERO
    if pour.studio.run_off_value == Studio.RunOffValue.BASE:
        value = _worth_of_base(pour, layers, kept_ml)
    material = reclaimed_paint(pour.studio)
    bottle = stock.Receipt(material=material, quantity=kept_ml, value=value)
    return [
        stock.Move(
            kind=Movement.Kind.RECLAIM,
            material=material,
            quantity=kept_ml,
            value=value,
            new_bottle=bottle,
        )
    ]


def _worth_of_base(pour, layers, kept_ml):
    """What ``kept_ml`` of this pour's own base mix costs."""
    needs = mix_book(pour.studio).materials_in(pour.palette.base_id, kept_ml)
    cost = sum((price.value for price in prices(pour.studio, needs).values()), ZERO)
    return cost.quantize(VALUE_PLACES, ROUND_HALF_UP)
