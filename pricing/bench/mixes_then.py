"""The mixes of earlier pours, beside the cups of work that is to come out like them."""

from collections.abc import Collection, Hashable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from inventory.mixing.frozen import FrozenMix, frozen_mix
from inventory.mixing.mix_book import MixBook
from pricing.bench.frozen_pours import poured_mixes
from pricing.models import PourLayer
from studio.models import Studio
from studio.units.numerals import trimmed


@dataclass(frozen=True)
class MixThen:
    """A mix as it was in a pour, named by its number, with the trace measured of it, [s].

    ``recipe_ids`` are the recipes that stand for it: its own and those with the same parts.
    ``differs_id`` is its own where that is no longer as it was.
    """

    pour: int
    mix: FrozenMix
    trace_seconds: Decimal | None
    recipe_ids: frozenset[Hashable]
    differs_id: int | None

    @property
    def words(self) -> str:
        """What it was made of, and its trace."""
        if self.trace_seconds is not None:
            return f"{self.mix.words}; trace measured {trimmed(self.trace_seconds)} seconds"
        if self.mix.trace_seconds is not None:
            return f"{self.mix.words}; trace {trimmed(self.mix.trace_seconds)} seconds"
        return self.mix.words


def mixes_then(studio: Studio, pours: Collection[int], book: MixBook) -> tuple[MixThen, ...]:
    """Return the mixes of some pours by their numbers, each once; one query, none without pours."""
    return tuple(_mixes_then(studio, pours, book)) if pours else ()


def _mixes_then(studio: Studio, pours: Collection[int], book: MixBook) -> Iterator[MixThen]:
    rows = PourLayer.objects.filter(pour__studio=studio, pour__number__in=pours)
    now = {key: frozen_mix(book, key) for key, one in book.recipes.items() if not one.archived_at}
    told = set()
    for layer in rows.select_related("pour").order_by("pour__number", "pk"):
        for one in poured_mixes(layer):
            if one.mix is None or (layer.pour.number, one.mix, one.trace_seconds) in told:
                continue
            told.add((layer.pour.number, one.mix, one.trace_seconds))
            own = now.get(one.mix.recipe_id)
            same = {key for key, mix in now.items() if mix.content == one.mix.content}
            yield MixThen(
                pour=layer.pour.number,
                mix=one.mix,
                trace_seconds=one.trace_seconds,
                recipe_ids=frozenset(same | {one.mix.recipe_id}),
                differs_id=own.recipe_id if own and one.mix.difference(own) else None,
            )
