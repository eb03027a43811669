"""Amounts as they stand in sheets: sizes of packs, counts of bottles, what is left of one."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from inventory.stock.sheets.doubts import CellDoubtful, CellWrong, SheetAsked, shown
from inventory.stock.sheets.numbers import plain_numbers
from inventory.stock.sheets.words import (
    CONTAINERS,
    FILLERS,
    NONE_LEFT,
    NOTHING_SAID,
    PART,
    PLUS,
    UNITS,
    plain_words,
)
from studio.units.readings import with_ounces_joined
from studio.units.words import COUNT_WORDS, MASS_WORDS, OUNCES, volume_words

NUMBER_OR_WORD = re.compile(
    r"(?P<mixed>\d++ +\d++/\d++)|(?P<part>\d++/\d++)|(?P<number>\d++(?:\.\d++)?+)"
    r"|(?P<word>[a-z]++(?:'[a-z]++)?+)|(?P<sign>[%+&?])"
)
FUSED = re.compile(r"\d([a-z]++)")
NEGATIVE = re.compile(r"[-−]\s*+\d")
PACK, THING = "pack", "thing"
LONGEST = 60


@dataclass(frozen=True)
class Measure:
    """So many times a number of a unit, [-]: ml, g, each, pack, thing (a word not known), or none
    where only a number stands."""

    number: Fraction
    unit: str = ""
    times: int = 1

    @property
    def whole(self) -> Fraction:
        return self.number * self.times


@dataclass(frozen=True)
class Ways:
    """How a sheet writes: its decimals, what ``oz`` is, whose spoons and gallons, [-]."""

    decimals: str = ""
    ounces: str = ""
    measures: str = "us"


def read_measure(text: str, ways: Ways) -> Measure | None:
    """Read one amount; None where the cell says nothing.

    >>> read_measure("2 x 500 ml", Ways()), read_measure("1 full + 1 half", Ways()).whole
    (Measure(number=Fraction(500, 1), unit='ml', times=2), Fraction(3, 2))
    """
    if len(text) > LONGEST:
        raise CellWrong("This is too long for an amount. Write it such as 250 mL or 3 bottles.")
    plain = " ".join(plain_words(text).replace("~", " ").split())
    if plain in NOTHING_SAID:
        return None
    if NEGATIVE.match(plain):
        raise CellWrong(f"“{shown(text)}” is below nothing. Write how much there is.")
    plain = with_ounces_joined(plain_numbers(plain, ways.decimals))
    for word in FUSED.findall(plain):
        if word != "x" and _unit(word, ways) is None and word not in CONTAINERS | OUNCES:
            raise CellWrong(
                f"“{shown(text)}” is not an amount. Write it such as 250 mL or 3 bottles."
            )
    terms = [_term(term, ways, text) for term in _terms(plain)]
    units = {term.unit for term in terms}
    if not terms or len(units) > 1:
        raise CellDoubtful(f"How much is “{shown(text)}”?")
    if len(terms) == 1:
        return terms[0]
    return Measure(sum((term.whole for term in terms), Fraction(0)), units.pop())


def _terms(plain: str) -> list[list[Fraction | str]]:
    """Split plain text into terms that are added up, each numbers and words without fillers."""
    terms: list[list[Fraction | str]] = [[]]
    for match in NUMBER_OR_WORD.finditer(plain):
        if match["word"] or match["sign"]:
            word = (match["word"] or match["sign"]).removeprefix("l'").removeprefix("d'")
            if word in PLUS:
                terms.append([])
            elif word not in FILLERS:
                terms[-1].append(word)
        else:
            whole, _, part = match[0].rpartition(" ")
            if part.endswith("/0"):
                raise CellWrong(f"“{plain}” is not a part of one.")
            terms[-1].append(Fraction(whole or 0) + Fraction(part))
    return [term for term in terms if term]


def _term(term: Sequence[Fraction | str], ways: Ways, text: str) -> Measure:
    first, rest = term[0], list(term[1:])
    if isinstance(first, str):
        if rest and isinstance(rest[0], Fraction) and first in CONTAINERS:
            inner = _term(rest, ways, text)
            return replace(inner, unit="each") if inner.unit in ("", THING) else inner
        return _words([str(word) for word in term], ways, text)
    if rest[:1] == ["x"] and len(rest) > 1:
        inner = _term(rest[1:], ways, text)
        return _times(first, inner, text)
    if not rest:
        return Measure(first)
    if isinstance(rest[0], Fraction):
        raise CellDoubtful(f"Which is it of “{shown(text)}”? Write one amount.")
    word = rest[0]
    if word in ("%", "percent", "prozent"):
        return Measure(first / 100, PACK)
    if (found := _unit(word, ways)) is not None:
        factor, unit = found
        return Measure(first * factor, unit)
    if word in PART:
        return Measure(first * PART[word], PACK)
    if len(rest) > 1 and isinstance(rest[1], Fraction):
        return _times(first, _term(rest[1:], ways, text), text)
    if word == "?":
        raise CellDoubtful(f"How much is “{shown(text)}”?")
    return Measure(first, PACK if word in CONTAINERS else THING)


def _times(number: Fraction, inner: Measure, text: str) -> Measure:
    if number.denominator != 1 or not 0 < number <= 10_000:
        raise CellDoubtful(f"How much is “{shown(text)}”?")
    return replace(inner, times=inner.times * int(number))


def _words(words: Sequence[str], ways: Ways, text: str) -> Measure:
    """Read an amount that has no number in it, such as half a bottle or none."""
    if any(word in NONE_LEFT for word in words):
        return Measure(Fraction(0), PACK)
    if parts := [PART[word] for word in words if word in PART]:
        return Measure(min(parts), PACK)
    if len(words) == 1 and (found := _unit(words[0], ways)) is not None:
        return Measure(*found)
    if len(words) == 1 and words[0] in CONTAINERS - {"lot", "lots"}:  # lots are no number
        return Measure(Fraction(1), PACK)
    raise CellDoubtful(f"How much is “{shown(text)}”?")


def _unit(word: str, ways: Ways) -> tuple[Fraction, str] | None:
    """Return (how many mL, g or pieces, which of them) a word holds; None where it is no unit."""
    word = UNITS.get(word, word)
    if word in OUNCES:
        if not ways.ounces:
            raise SheetAsked("ounces")
        word = "floz" if ways.ounces == "volume" else word
    for table, unit in (
        (volume_words(ways.measures), "ml"),
        (MASS_WORDS, "g"),
        (COUNT_WORDS, "each"),
    ):
        if word in table:
            return Fraction(table[word]), unit
    return None
