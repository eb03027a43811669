"""Colours of a palette: in what shares, and how much of each."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from math import isfinite

from inventory.mixing.proportions.amounts import decimal, finest, positive, rounded
from inventory.mixing.proportions.errors import MixingError

# Less than a teaspoon cannot be drizzled evenly: common practice, no source.
LEAST_ML = Decimal(5)
# A tenth of a millilitre is the least a measuring cylinder shows.
MEASURABLE_ML = Decimal("0.1")
# 33 + 33 + 33 is meant as thirds; 50 + 25 + 20 is a mistake.
PERCENT_SLACK = Fraction(3, 2)


@dataclass(frozen=True)
class Split:
    """Volumes of the colours, [mL], in the order of their shares.

    `raised` says which were raised to the minimum, `note` what was changed, in words: empty when
    every colour got just its share.
    """

    volumes_ml: tuple[Decimal, ...]
    total_ml: Decimal
    raised: tuple[bool, ...]
    note: str = ""


def shares(
    parts: Sequence[int | float | str | Decimal | Fraction] | str, count: int | None = None
) -> tuple[Fraction, ...]:
    """Return each colour's share of the whole, adding up to one exactly.

    Parameters
    ----------
    parts : sequence of numbers or text, or "equal"
        Parts such as ``[2, 1, 1]``, percentages such as ``["50%", "25%", "25%"]``, or the word
        ``"equal"``, [-]
    count : int
        How many colours there are; needed for ``"equal"``, [-]

    Returns
    -------
    shares : tuple of Fraction
        One share a colour, in the order given, [-]

    Raises
    ------
    MixingError
        If there is no colour, a part is not a number above zero, parts and percentages are mixed,
        percentages do not add up to 100, or `count` is not how many parts there are.

    Examples
    --------
    >>> shares("equal", 3)
    (Fraction(1, 3), Fraction(1, 3), Fraction(1, 3))
    >>> [str(share) for share in shares(["50%", "30%", "20%"])]
    ['1/2', '3/10', '1/5']
    """
    if isinstance(parts, str):
        parts = _equal_parts(parts, count)
    if not parts:
        raise MixingError("A palette needs at least one colour.")
    if count is not None and len(parts) != count:
        raise MixingError(f"There are {count} colours and {len(parts)} shares: give one for each.")
    numbers = [_part(part) for part in parts]
    whole = sum(numbers, Fraction(0))
    percentages = [isinstance(part, str) and part.strip().endswith("%") for part in parts]
    if any(percentages):
        if not all(percentages):
            raise MixingError("Give all shares as parts or all as percentages, not some of each.")
        if abs(whole - 100) > PERCENT_SLACK:
            raise MixingError(f"Percentages add up to 100, not {_short(whole)}.")
    return tuple(number / whole for number in numbers)


def split(
    total_ml: Decimal, shares: Sequence[Fraction | Decimal], minimum_ml: Decimal = LEAST_ML
) -> Split:
    """Return each colour's volume: its share, but no less than a person can drizzle.

    A colour whose share is less than the minimum is raised to it, and the others give way in
    proportion to their shares. When the total is less than the minimum of every colour together,
    all get the minimum and the total grows.

    Parameters
    ----------
    total_ml : Decimal
        Volume of all colours together, above zero, [mL]
    shares : sequence of Fraction or Decimal
        Shares adding up to one, as `shares` returns them, [-]
    minimum_ml : Decimal
        Least volume of one colour, from 0, [mL]; 5 mL is common practice, no source

    Returns
    -------
    split : Split
        Volumes to 0.1 mL (or the total's own last place if finer) that add up to its total
        exactly, [mL]

    Raises
    ------
    MixingError
        If the total is not above zero, the minimum is below zero, or shares do not add up to one.

    Examples
    --------
    60 mL in shares of 85 %, 10 % and 5 %: the last gets 5 mL instead of 3, so 55 mL are shared
    85 to 10 between the others, 49.21 and 5.79 mL.

    >>> worked = split(Decimal(60), [Fraction(17, 20), Fraction(1, 10), Fraction(1, 20)])
    >>> [str(volume) for volume in worked.volumes_ml], worked.total_ml
    (['49.2', '5.8', '5.0'], Decimal('60'))
    """
    total, portions = positive(total_ml, "A volume"), [Fraction(share) for share in shares]
    least = _least(minimum_ml)
    if not portions or sum(portions) != 1 or min(portions) <= 0:
        raise MixingError("Shares must each be above zero and add up to one.")
    places = finest(MEASURABLE_ML, Decimal(total_ml), Decimal(minimum_ml))
    if least * len(portions) > total:
        return _grown(Decimal(minimum_ml), len(portions), Decimal(total_ml))
    exact, raised = _level(total, portions, [least] * len(portions))
    return Split(
        volumes_ml=rounded(exact, places),
        total_ml=Decimal(total_ml),
        raised=tuple(raised),
        note=_raised_note(sum(raised), minimum_ml),
    )


def top_up(
    total_ml: Decimal,
    shares: Sequence[Fraction],
    ready_ml: Sequence[Decimal],
    minimum_ml: Decimal = LEAST_ML,
) -> tuple[Decimal, ...]:
    """Return how much of each colour is mixed fresh where some of it was ready.

    Each colour comes to what `split` gives it of the total, ready and fresh together. Where more of
    a colour was ready, the others share what is left. A total that is less than the minimum of
    every colour together was mixed by the shares alone.

    Parameters
    ----------
    total_ml : Decimal
        Volume of all colours together, above zero, [mL]
    shares : sequence of Fraction
        From `shares`, adding up to one, [-]
    ready_ml : sequence of Decimal
        What was ready of each colour, from 0, together no more than the total, [mL]
    minimum_ml : Decimal
        Least volume of one colour, from 0, [mL]

    Returns
    -------
    fresh_ml : tuple of Decimal
        In the order of the shares, places as in `split`; with what was ready they add up to the
        total exactly, [mL]

    Raises
    ------
    MixingError
        If the total is not above zero, or more was ready than the total.

    Examples
    --------
    60 mL in thirds, of which 30 mL of the first colour were ready: the others share 30 mL.

    >>> fresh = top_up(Decimal(60), [Fraction(1, 3)] * 3, [Decimal(30), Decimal(5), Decimal(0)])
    >>> [str(volume) for volume in fresh]
    ['0.0', '10.0', '15.0']
    """
    total, ready = positive(total_ml, "A volume"), [Fraction(part) for part in ready_ml]
    least = _least(minimum_ml)
    if sum(ready) > total:
        raise MixingError(
            f"{_short(sum(ready, Fraction(0)))} mL of the colours were ready, more than the "
            f"{_short(total)} mL that were used. Give all of the colours that were in the cups."
        )
    raised = [max(part, least) for part in ready]
    exact, _ = _level(
        total, [Fraction(share) for share in shares], raised if sum(raised) <= total else ready
    )
    whole = rounded(exact, finest(MEASURABLE_ML, Decimal(total_ml), *ready_ml))
    return tuple(one - part for one, part in zip(whole, ready_ml, strict=True))


def _level(
    total: Fraction, portions: list[Fraction], least: list[Fraction]
) -> tuple[list[Fraction], list[bool]]:
    """Raise what is below its least until the rest, sharing what is left, all reach theirs."""
    raised = [False] * len(portions)
    while True:
        free = sum(portion for portion, up in zip(portions, raised, strict=True) if not up)
        left = total - sum(low for low, up in zip(least, raised, strict=True) if up)
        exact = [
            low if up else left * portion / free
            for portion, low, up in zip(portions, least, raised, strict=True)
        ]
        below = [amount < low for amount, low in zip(exact, least, strict=True)]
        if not any(below):
            return exact, raised
        raised = [up or low for up, low in zip(raised, below, strict=True)]


def _grown(minimum_ml: Decimal, count: int, asked_ml: Decimal) -> Split:
    total_ml = minimum_ml * count
    return Split(
        volumes_ml=(minimum_ml,) * count,
        total_ml=total_ml,
        raised=(True,) * count,
        note=f"{count} colours of at least {_short(minimum_ml)} mL take {_short(total_ml)} mL, "
        f"more than the {_short(asked_ml)} mL the piece needs.",
    )


def _raised_note(count: int, minimum_ml: Decimal) -> str:
    if not count:
        return ""
    return (
        f"{count} {'colour was' if count == 1 else 'colours were'} raised to "
        f"{_short(minimum_ml)} mL, the least that can be drizzled; the others give way."
    )


def _equal_parts(word: str, count: int | None) -> list[int]:
    if word.strip().lower() != "equal":
        raise MixingError(f"Shares are a list of parts or percentages, or “equal”, not “{word}”.")
    if count is None or count < 1:
        raise MixingError("Say how many colours share equally: one or more.")
    return [1] * count


def _part(part: int | float | str | Decimal | Fraction) -> Fraction:
    if not isinstance(part, str):
        return positive(part, "A colour's part")
    try:
        return positive(Decimal(part.strip().removesuffix("%").strip()), "A colour's part")
    except InvalidOperation:
        raise MixingError(
            f"A colour's share is a number of parts such as 2, or a percentage such as 25%, "
            f"not “{part}”."
        ) from None


def _least(minimum_ml: Decimal) -> Fraction:
    if not isfinite(minimum_ml) or minimum_ml < 0:
        raise MixingError(
            f"The least volume of a colour cannot be {minimum_ml} mL: give 0 or more."
        )
    return Fraction(minimum_ml)


def _short(number: Fraction | Decimal) -> str:
    """Write a number to at most a tenth."""
    return f"{decimal(Fraction(number)):.1f}".removesuffix(".0")
