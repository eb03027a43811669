"""Mixes as they were when they were poured or mixed, whatever became of their recipes since.

What is stored is plain text and keys, each number written as text, so that it comes back as it went
in. A mix that is part of another stands inside it, `MOST_DEEP` deep at most.
"""

from collections.abc import Hashable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from inventory.mixing.mix_book import MixBook
from inventory.models import Material, Recipe, RecipePart
from inventory.models.shapes import MOST_DEEP
from studio.units.numerals import trimmed

Plain = dict[str, Any]


@dataclass(frozen=True)
class FrozenPart:
    """So many parts, [-], of a material, or of a mix that stands here as it was."""

    name: str
    parts: Decimal
    material_id: int | None
    mix: "FrozenMix | None"

    @property
    def thing(self) -> Hashable:
        """What it is, for telling whether two mixes are alike."""
        if self.mix is not None:
            return self.mix.content
        return self.material_id if self.material_id is not None else self.name


@dataclass(frozen=True)
class FrozenMix:
    """What a recipe was: its parts by volume or by weight, and the trace it should have, [s]."""

    recipe_id: int | None
    name: str
    role: str
    basis: str
    trace_seconds: Decimal | None
    keeps_days: int | None
    parts: tuple[FrozenPart, ...]

    @property
    def content(self) -> Hashable:
        """What it was made of: equal for 2 + 1 parts and for 4 + 2, whatever their order."""
        whole = sum((Fraction(one.parts) for one in self.parts), Fraction(0)) or Fraction(1)
        shares = frozenset((one.thing, Fraction(one.parts) / whole) for one in self.parts)
        return self.basis if len(self.parts) > 1 else "", shares

    @property
    def words(self) -> str:
        """Its parts, as “2 parts white + 1 part medium, by volume”."""
        parts = " + ".join(f"{trimmed(one.parts)} {one.name}" for one in self.parts)
        by = "weight" if self.basis == Recipe.Basis.WEIGHT else "volume"
        return f"{parts}, by {by}" if len(self.parts) > 1 else parts

    def difference(self, now: "FrozenMix") -> str:
        """Return in a sentence what became of it, or nothing where it is as it was."""
        was, told = [], []
        if self.content != now.content:
            was.append(self.words)
            told.append(now.words)
        if self.trace_seconds != now.trace_seconds:
            was.append(_trace(self.trace_seconds))
            told.append(_trace(now.trace_seconds))
        if not was:
            return ""
        return f"{self.name} was {'; '.join(was)}. It is now {'; '.join(told)}."


def frozen_mix(book: MixBook, recipe_id: Hashable, depth: int = MOST_DEEP) -> FrozenMix:
    """Return a recipe of a studio as it is now, with the mixes in it."""
    recipe = book.recipes[recipe_id]
    return FrozenMix(
        recipe_id=recipe.pk,
        name=recipe.name,
        role=recipe.role,
        basis=recipe.basis,
        trace_seconds=recipe.trace_seconds,
        keeps_days=recipe.keeps_days,
        parts=tuple(_part(book, part, depth) for part in book.parts[recipe_id]),
    )


def to_plain(mix: FrozenMix) -> Plain:
    """Return a mix as it is stored."""
    return {
        "recipe_id": mix.recipe_id,
        "name": mix.name,
        "role": mix.role,
        "basis": mix.basis,
        "trace_seconds": None if mix.trace_seconds is None else f"{mix.trace_seconds:f}",
        "keeps_days": mix.keeps_days,
        "parts": [
            {
                "name": one.name,
                "parts": f"{one.parts:f}",
                "material_id": one.material_id,
                "mix": to_plain(one.mix) if one.mix else None,
            }
            for one in mix.parts
        ],
    }


def from_plain(stored: Plain) -> FrozenMix:
    """Return a mix as it was stored."""
    trace = stored["trace_seconds"]
    return FrozenMix(
        recipe_id=stored["recipe_id"],
        name=stored["name"],
        role=stored["role"],
        basis=stored["basis"],
        trace_seconds=None if trace is None else Decimal(trace),
        keeps_days=stored["keeps_days"],
        parts=tuple(
            FrozenPart(
                one["name"],
                Decimal(one["parts"]),
                one["material_id"],
                from_plain(one["mix"]) if one["mix"] else None,
            )
            for one in stored["parts"]
        ),
    )


def _part(book: MixBook, part: RecipePart, depth: int) -> FrozenPart:
    if part.material_id is not None:
        material: Material = book.materials[part.material_id]
        return FrozenPart(material.name, part.parts, material.pk, None)
    inner = frozen_mix(book, part.subrecipe_id, depth - 1) if depth else None
    return FrozenPart(book.recipes[part.subrecipe_id].name, part.parts, None, inner)


def _trace(seconds: Decimal | None) -> str:
    return "without a trace" if seconds is None else f"with a trace of {trimmed(seconds)} seconds"
