"""The mixes of a pour as they were when it was logged, kept with its layers."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from inventory.mixing.frozen import FrozenMix, from_plain, frozen_mix, to_plain
from inventory.mixing.mix_book import mix_book
from inventory.models import Batch, Material, Recipe
from inventory.models.shapes import of_new_keys
from pricing.bench.pour_materials import ML_PLACES, LayerLog
from pricing.estimating.mixes import fresh_mixes
from pricing.models import Palette, PourLayer
from studio.money import ZERO
from studio.transfer.parts import Keys


@dataclass(frozen=True)
class PouredMix:
    """So much of a mix that a layer was poured of, [mL], all pieces together.

    ``parts`` are those it had among the colours of the palette, ``bottle`` the code of the bottle
    it came out of, if it was mixed before, and ``trace_seconds`` what was measured of that batch.
    ``mix`` is None for run-off of earlier pours.
    """

    ml: Decimal
    parts: Decimal | None
    bottle: str
    trace_seconds: Decimal | None
    mix: FrozenMix | None


def frozen_layers(
    palette: Palette, layers: Mapping[str, LayerLog]
) -> dict[str, list[dict[str, Any]]]:
    """Return {layer: its mixes as they are stored} of a pour that is about to be logged.

    What came from a bottle is kept as its batch was mixed, the rest as the recipes are now.
    """
    book = mix_book(palette.studio)
    recipes = {recipe.mix_id: recipe.pk for recipe in book.recipes.values() if recipe.mix_id}
    parts = {colour.recipe_id: colour.parts for colour in palette.colours.all()}
    named = [bottle for log in layers.values() for bottle, _ in log.mixes]
    batches = {batch.bottle_id: batch for batch in Batch.objects.filter(bottle__in=named) if named}
    frozen = {}
    for layer, log in layers.items():
        shares = parts if layer == PourLayer.Layer.COLOURS else {}
        ready: defaultdict[int, Decimal] = defaultdict(Decimal)
        fresh, kept = log.mixed_ml - log.reclaimed_ml, []
        for bottle, ml in log.mixes:
            recipe = recipes.get(bottle.material_id)
            batch = batches.get(bottle.pk)
            if recipe is None:
                fresh -= ml
                kept.append(_stored(ml, bottle.code))
                continue
            ready[recipe] += ml
            made_of = (batch.made_of if batch else None) or to_plain(frozen_mix(book, recipe))
            trace = batch.trace_seconds if batch else None
            kept.append(_stored(ml, bottle.code, made_of, shares.get(recipe), trace))
        kept += [
            _stored(ml, "", to_plain(frozen_mix(book, recipe)), shares.get(recipe))
            for recipe, ml in fresh_mixes(palette, layer, fresh, ready)
        ]
        kept.append(_stored(log.reclaimed_ml, ""))
        frozen[layer] = [one for one in kept if Decimal(one["ml"]) > 0]
    return frozen


def poured_mixes(layer: PourLayer) -> tuple[PouredMix, ...]:
    """Return the mixes that a layer was poured of; none where they were not kept yet."""
    return tuple(
        PouredMix(
            ml=Decimal(one["ml"]),
            parts=_decimal(one["parts"]),
            bottle=one["bottle"],
            trace_seconds=_decimal(one["trace_seconds"]),
            mix=from_plain(one["mix"]) if one["mix"] else None,
        )
        for one in layer.mixes
    )


def materials_in(layer: PourLayer) -> set[int]:
    """Return the ids of the materials in the mixes of a layer, those of mixes in them too."""
    return {key for one in poured_mixes(layer) if one.mix for key in _inside(one.mix)}


def layer_of_new_keys(row: PourLayer, keys: Keys) -> None:
    """Let the mixes of a layer out of an archive name recipes and materials by their new keys."""
    for one in row.mixes:
        if one["mix"]:
            of_new_keys(one["mix"], keys[Recipe], keys[Material])


def _stored(
    ml: Decimal,
    bottle: str,
    mix: dict[str, Any] | None = None,
    parts: Decimal | None = None,
    trace_seconds: Decimal | None = None,
) -> dict[str, Any]:
    return {
        "ml": f"{max(ml, ZERO).quantize(ML_PLACES, ROUND_HALF_UP):f}",
        "parts": None if parts is None else f"{parts:f}",
        "bottle": bottle,
        "trace_seconds": None if trace_seconds is None else f"{trace_seconds:f}",
        "mix": mix,
    }


def _inside(mix: FrozenMix) -> Iterator[int]:
    for part in mix.parts:
        if part.mix is not None:
            yield from _inside(part.mix)
        elif part.material_id is not None:
            yield part.material_id


def _decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)
