"""One typed quantity as pairs of number and unit, and their sum in storage units."""

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import NoReturn

from studio.units.numerals import UnitsError, exact_decimal, plain_text, quoted, tokens
from studio.units.words import AMBIGUOUS, KINDS

FLUID_OUNCE = re.compile(r"(?<![a-z])fl(?:uid)?\.?\s*(?:oz|ounces?)(?![a-z])")
OUNCE_OF_WEIGHT = re.compile(r"(?<![a-z])(?:oz\.?\s*wt|wt\.?\s*oz)(?![a-z])")

# A number and the words of its unit.
Reading = tuple[Fraction, str]


def readings(text: str, hint: str) -> list[Reading]:
    """Split text into pairs of number and unit words; a plain number has no words."""
    plain = plain_text(text, hint)
    plain = with_ounces_joined(plain)
    plain = re.sub(r"\s(?:and|[+&])\s+(?=\d)", " ", plain)
    pairs: list[tuple[Fraction, list[str]]] = []
    for token in tokens(plain, hint):
        if isinstance(token, Fraction):
            pairs.append((token, []))
        elif token != ",":
            if not pairs:
                raise UnitsError(f"{quoted(token)} has no number before it; write {hint}.")
            pairs[-1][1].append(token)
    if len(pairs) > 1 and any(not words for _, words in pairs):
        raise UnitsError(f"Each number needs its own unit; write {hint}.")
    return [(number, " ".join(words)) for number, words in pairs]


def with_ounces_joined(plain: str) -> str:
    """Return plain text with each kind of ounce that is named in full as one word.

    >>> with_ounces_joined("8 fl. oz"), with_ounces_joined("3 oz wt")
    ('8 floz', '3 ozwt')
    """
    plain = FLUID_OUNCE.sub("floz", plain)
    return OUNCE_OF_WEIGHT.sub("ozwt", plain)


def kind_of(words: str) -> str | None:
    """Return which kind of unit these words are: volume, weight, length, count, or None."""
    return KINDS.get(words.split()[-1]) if words else None


def refuse_words(words: str, hint: str) -> NoReturn:
    if words in AMBIGUOUS:
        raise UnitsError(AMBIGUOUS[words])
    kind = KINDS.get(words)
    if kind:
        raise UnitsError(f"{quoted(words)} is a {kind}; write {hint}.")
    raise UnitsError(f"{quoted(words)} is not a unit known here; write {hint}.")


def total(
    pairs: Iterable[Reading],
    table: Mapping[str, Fraction],
    hint: str,
    plain_factor: Fraction | int | None = None,
) -> Fraction:
    """Add up readings in storage units; a plain number counts `plain_factor` of them."""
    result = Fraction(0)
    for number, words in pairs:
        if words in table:
            result += number * table[words]
        elif words:
            refuse_words(words, hint)
        elif plain_factor is None:
            raise UnitsError(f"Say which unit it is in; write {hint}.")
        else:
            result += number * plain_factor
    return result


def bounded(value: Fraction, low: str | int, high: int, sentence: str) -> Decimal:
    """Return a Fraction as a Decimal if it lies within its bounds, or refuse it."""
    if not Fraction(low) <= value <= Fraction(high):
        raise UnitsError(sentence)
    return exact_decimal(value)
