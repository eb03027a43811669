"""The mixes of a pour written down again as they were, to pour from once more."""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from inventory.mixing.frozen import FrozenMix, frozen_mix
from inventory.mixing.mix_book import MixBook, mix_book
from inventory.mixing.recipes import save_recipe
from inventory.models import Material, Recipe
from pricing.bench.frozen_pours import PouredMix, poured_mixes
from pricing.costing.catalogue import save_palette
from pricing.errors import PourRefused
from pricing.models import Palette, Pour, PourLayer
from studio.text import shortened

BASE, COLOURS, ACTIVATOR = PourLayer.Layer.values
MOST_NAME, MOST_PALETTE = 120, 80


@transaction.atomic
def write_old_mixes(*, pour: Pour, by: User | None) -> Palette:
    """Write the mixes of a pour down again as they were, as a palette to pour from; returns it.

    A recipe that is still as it was, or has been written down before, is taken; where the palette
    itself is as it was, it is returned. Raises `PourRefused` where they are not known, or something
    that was in them is not in the studio any more.
    """
    pour = Pour.objects.select_for_update().get(pk=pour.pk)
    poured = {row.layer: poured_mixes(row) for row in pour.layers.all()}
    by_layer = {layer: main_mixes(mixes) for layer, mixes in poured.items()}
    book = mix_book(pour.studio)
    for palette in palettes_of(pour):
        if by_layer.get(COLOURS) and is_as_poured(palette, poured, book):
            return palette
    if not by_layer.get(COLOURS):
        raise PourRefused(
            f"The mixes of {pour} were not kept, so they cannot be written down as they were. Pour "
            "with the palette as it is now."
        )
    colours = [
        (_recipe(pour, one.mix, book), one.parts or one.ml)
        for one in by_layer[COLOURS]
        if one.mix is not None
    ]
    base, activator = (
        next((_recipe(pour, one.mix, book) for one in by_layer.get(layer, ()) if one.mix), None)
        for layer in (BASE, ACTIVATOR)
    )
    return save_palette(
        studio=pour.studio,
        name=_free(pour, pour.palette.name, "palettes", MOST_PALETTE),
        base=base or pour.palette.base,
        colours=colours,
        activator=activator or pour.palette.activator,
        notes=f"The mixes of {pour}, as they were.",
    )


def palettes_of(pour: Pour) -> Iterator[Palette]:
    """Yield the palette of a pour, then those written down for it, none that is archived."""
    rows = pour.studio.palettes.filter(archived_at=None).prefetch_related("colours")
    yield from rows.filter(pk=pour.palette_id)
    stem = _stem(pour, pour.palette.name, MOST_PALETTE)
    yield from rows.filter(name__startswith=stem).exclude(pk=pour.palette_id).order_by("-pk")


def main_mixes(mixes: Iterable[PouredMix]) -> list[PouredMix]:
    """Return one mix for each recipe: where two batches differed, the one most was poured of."""
    chosen: dict[object, PouredMix] = {}
    for one in mixes:
        if one.mix is None:
            continue
        key = one.mix.recipe_id or one.mix.name
        if key not in chosen or one.ml > chosen[key].ml:
            chosen[key] = one
    return list(chosen.values())


def is_as_poured(
    palette: Palette, poured: Mapping[str, tuple[PouredMix, ...]], book: MixBook
) -> bool:
    """Whether a palette's mixes are those that were poured, and in the same shares."""
    colours = list(palette.colours.all())
    recipes: dict[str, list[int | None]] = {
        BASE: [palette.base_id],
        COLOURS: [colour.recipe_id for colour in colours],
        ACTIVATOR: [palette.activator_id],
    }
    for layer, mixes in poured.items():
        known = [frozen_mix(book, recipe) for recipe in recipes[layer] if recipe is not None]
        now = {mix.content: mix.trace_seconds for mix in known}
        then = {one.mix.content: one.mix.trace_seconds for one in main_mixes(mixes) if one.mix}
        if then and (then != now if layer == COLOURS else not then.items() <= now.items()):
            return False
    parts = [one.parts for one in main_mixes(poured.get(COLOURS, ()))]
    return (
        not parts
        or not all(parts)
        or shares_of(parts) == shares_of([colour.parts for colour in colours])
    )


def shares_of(parts: Iterable[Decimal | None]) -> list[Decimal]:
    numbers = [one or Decimal(0) for one in parts]
    return sorted(round(one / sum(numbers), 6) for one in numbers) if any(numbers) else []


def _recipe(pour: Pour, mix: FrozenMix, book: MixBook) -> Recipe:
    """Return a recipe that is as a mix was: one there is, else a new one."""
    same = [
        recipe
        for key, recipe in book.recipes.items()
        if not recipe.archived_at
        and recipe.trace_seconds == mix.trace_seconds
        and frozen_mix(book, key).content == mix.content
    ]
    found = next((one for one in same if one.pk == mix.recipe_id), same[0] if same else None)
    if found is not None:
        return found
    parts: list[tuple[Material | Recipe, Decimal]] = []
    for part in mix.parts:
        if part.mix is not None:
            parts.append((_recipe(pour, part.mix, book), part.parts))
            continue
        material = book.materials.get(part.material_id)
        if material is None:
            raise PourRefused(
                f"{mix.name} cannot be written down as it was: {part.name} is not among your "
                "materials any more. Write it down again first, or pour with the palette as it is."
            )
        parts.append((material, part.parts))
    saved = save_recipe(
        studio=pour.studio,
        name=_free(pour, mix.name, "recipes", MOST_NAME),
        role=mix.role,
        basis=mix.basis,
        parts=parts,
        trace_seconds=mix.trace_seconds,
        keeps_days=mix.keeps_days,
        notes=f"As it was in {pour}.",
    )
    book.recipes[saved.pk] = saved
    book.parts[saved.pk] = list(saved.parts.all())
    return saved


def _stem(pour: Pour, name: str, most: int) -> str:
    ending = f", pour {pour.number}"
    return shortened(name, most - len(ending) - 4) + ending


def _free(pour: Pour, name: str, rows: str, most: int) -> str:
    """Return a name that says which pour it is of, and that the studio has not used."""
    stem = _stem(pour, name, most)
    taken = set(
        getattr(pour.studio, rows).filter(name__startswith=stem).values_list("name", flat=True)
    )
    return next(one for one in (stem, *(f"{stem} ({n})" for n in range(2, 99))) if one not in taken)
