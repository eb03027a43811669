"""A pour once more: what it was poured of, what of that has changed since, and what is gone."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from inventory.mixing.frozen import FrozenMix, frozen_mix
from inventory.mixing.mix_book import MixBook, mix_book
from inventory.models import Material
from pricing.bench.frozen_pours import PouredMix, poured_mixes
from pricing.bench.old_mixes import is_as_poured, main_mixes, palettes_of, shares_of
from pricing.commissions.likeness import kit_of
from pricing.estimating.answers import PieceEstimate
from pricing.estimating.estimates import estimate
from pricing.estimating.layers import LayerEstimate
from pricing.models import Palette, Pour, PourLayer, ResinKit
from studio.errors import StudioError
from studio.units.numerals import trimmed


@dataclass(frozen=True)
class LayerThen:
    """One layer as it was poured, with its mixes, beside what is estimated now, if it is."""

    layer: PourLayer
    mixes: tuple[PouredMix, ...]
    now: LayerEstimate | None


@dataclass(frozen=True)
class Again:
    """A pour and what stands in the way of pouring it once more.

    ``kit`` is its resin; ``changes`` says what became of its mixes, ``gone`` what is no longer
    there and what to do about it. ``palette`` is one that has its mixes as they were: its own where
    nothing changed, else one written down for it, or None until that is done. ``problem`` is why
    nothing can be estimated now.
    """

    pour: Pour
    kit: ResinKit | None
    layers: tuple[LayerThen, ...]
    changes: tuple[str, ...]
    gone: tuple[str, ...]
    palette: Palette | None
    piece: PieceEstimate | None
    problem: str = ""

    @property
    def is_known(self) -> bool:
        """Whether its mixes were kept; of pours logged before that they are not known."""
        return any(one.mixes for one in self.layers)

    @property
    def used(self) -> Palette:
        """The palette to plan with: with its mixes as they were, if there is one."""
        return self.palette or self.pour.palette


def again(pour: Pour, piece: PieceEstimate | None = None) -> Again:
    """Return what a pour was beside what it takes now; ``piece`` is that estimate, where known."""
    kit, problem = kit_of(pour), ""
    book = mix_book(pour.studio)
    rows = list(pour.layers.all())
    poured = {row.layer: poured_mixes(row) for row in rows}
    palettes = palettes_of(pour)
    palette = next((one for one in palettes if is_as_poured(one, poured, book)), None)
    if piece is None:
        try:
            piece = estimate(
                pour.studio,
                pour.surface,
                pour.technique.slug,
                pour.count,
                palette=palette or pour.palette,
                topcoat=kit,
                base=pour.base,
            )
        except StudioError as error:
            problem = str(error)
    return Again(
        pour=pour,
        kit=kit,
        layers=tuple(
            LayerThen(row, poured[row.layer], piece.layer(row.layer) if piece else None)
            for row in rows
        ),
        changes=tuple(_changes(pour.palette, poured, book)),
        gone=tuple(_gone(pour, kit, poured, book)),
        palette=palette,
        piece=piece,
        problem=problem,
    )


def _changes(
    palette: Palette, poured: Mapping[str, tuple[PouredMix, ...]], book: MixBook
) -> Iterator[str]:
    """Yield what became of the mixes of a pour since, a sentence each."""
    told = set()
    for mixes in poured.values():
        for one in mixes:
            if one.mix is None or one.mix in told:
                continue
            told.add(one.mix)
            if one.mix.recipe_id is None or one.mix.recipe_id not in book.recipes:
                yield f"{one.mix.name} was {one.mix.words}. There is no such recipe any more."
            elif difference := one.mix.difference(frozen_mix(book, one.mix.recipe_id)):
                yield difference
    yield from _palette_changes(palette, main_mixes(poured.get(PourLayer.Layer.COLOURS, ())))


def _palette_changes(palette: Palette, then: list[PouredMix]) -> Iterator[str]:
    colours = list(palette.colours.select_related("recipe"))
    was = {one.mix.recipe_id: one for one in then if one.mix}
    now = {colour.recipe_id: colour.parts for colour in colours}
    parts = {key: one.parts for key, one in was.items()}
    if not was or None in parts.values() or (parts.keys() == now.keys() and parts == now):
        return
    if parts.keys() == now.keys() and shares_of(parts.values()) == shares_of(now.values()):
        return
    before = " + ".join(f"{trimmed(one.parts)} {one.mix.name}" for one in was.values() if one.mix)  # type: ignore[arg-type]  # none is None, see above
    after = " + ".join(f"{trimmed(colour.parts)} {colour.recipe.name}" for colour in colours)
    yield f"The colours of {palette} were {before}. They are now {after}."


def _gone(
    pour: Pour,
    kit: ResinKit | None,
    poured: Mapping[str, tuple[PouredMix, ...]],
    book: MixBook,
) -> Iterator[str]:
    """Yield what a pour took and is not there now, with what to do about it."""
    for thing, what in (
        (pour.palette, "palette"),
        (pour.surface, "size"),
        (kit, "resin kit"),
    ):
        if thing is not None and thing.archived_at:
            yield f"The {what} {thing} is archived. Bring it back, or choose another."
    if not pour.technique.is_offered:
        yield f"{pour.technique.name} is not offered now. Offer it again, or choose another."
    mixes = [one.mix for some in poured.values() for one in some if one.mix]
    materials = dict.fromkeys(one for mix in mixes for one in _inside(mix, book))
    surface = [pour.surface.material] if pour.surface.material else []
    resin = [kit.resin, kit.hardener] if kit else []
    for material in dict.fromkeys([*materials, *surface, *resin]):
        if isinstance(material, str):
            yield (
                f"{material} is not among your materials any more. Write it down again, or choose "
                "another and pour a test first."
            )
        elif material.archived_at:
            yield (
                f"{material} is archived. Bring it back, or choose another and pour a test first."
            )
        elif material.is_stocked and material.on_hand <= 0:
            yield f"There is no {material} on hand. Buy some before you pour."


def _inside(mix: FrozenMix, book: MixBook) -> Iterator[Material | str]:
    """Yield each material of a frozen mix; one that is gone by the name it had."""
    for part in mix.parts:
        if part.mix is not None:
            yield from _inside(part.mix, book)
        else:
            yield book.materials.get(part.material_id, part.name)
