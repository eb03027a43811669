"""What a layer is mixed from: the recipes of a palette, and each colour's share."""

from collections.abc import Mapping
from decimal import Decimal

from inventory.mixing.proportions import MixingError
from pricing.errors import PourRefused
from pricing.estimating import mixing
from pricing.models import Palette
from studio.errors import in_words
from studio.money import ZERO


def layer_mixes(
    palette: Palette, layer: str, volume_ml: Decimal
) -> tuple[list[tuple[int, Decimal]], str]:
    """Return [(recipe, mL)] of one layer's volume, and a note where a colour was raised.

    Each colour gets its share, but no less than a person can drizzle. Refuses an activator where
    the palette has none.
    """
    if not volume_ml:
        return [], ""
    if layer == "base":
        return [(palette.base_id, volume_ml)], ""
    if layer == "activator":
        if palette.activator_id is None:
            raise PourRefused(f"The palette {palette} has no cell activator. Add one, or log none.")
        return [(palette.activator_id, volume_ml)], ""
    colours = list(palette.colours.all())
    with in_words(MixingError):
        shares = mixing.shares([colour.parts for colour in colours])
        split = mixing.split(Decimal(volume_ml), shares)
    parts = zip(colours, split.volumes_ml, strict=True)
    return [(colour.recipe_id, ml) for colour, ml in parts if ml], split.note


def fresh_mixes(
    palette: Palette, layer: str, volume_ml: Decimal, ready: Mapping[int, Decimal]
) -> list[tuple[int, Decimal]]:
    """Return [(recipe, mL)] of one layer that was mixed from scratch.

    ``volume_ml`` is all that was mixed and ``ready`` {recipe: mL} what of it came from bottles of
    mix. Each colour keeps what the mixing sheet gives it, as far as the bottles allow: where more
    of one was taken, the others share what is left.
    """
    if not volume_ml:
        return []
    if layer != "colours":
        mixes, _ = layer_mixes(palette, layer, volume_ml)
        return [(recipe, ml - ready.get(recipe, ZERO)) for recipe, ml in mixes]
    colours = list(palette.colours.all())
    with in_words(MixingError):
        fresh = mixing.top_up(
            Decimal(volume_ml),
            mixing.shares([colour.parts for colour in colours]),
            [ready.get(colour.recipe_id, ZERO) for colour in colours],
        )
    return [(colour.recipe_id, ml) for colour, ml in zip(colours, fresh, strict=True)]


def recipes_of(palette: Palette) -> dict[str, set[int]]:
    """Return {layer: keys of the recipes that may be poured in it}."""
    return {
        "base": {palette.base_id},
        "colours": {colour.recipe_id for colour in palette.colours.all()},
        "activator": set() if palette.activator_id is None else {palette.activator_id},
    }
