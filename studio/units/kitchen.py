"""Volumes as spoons and cups a person would reach for."""

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction
from functools import cache

from studio.units.formats import format_volume, signed
from studio.units.measures import MeasureSet, measure_set
from studio.units.numerals import EXACT, UnitsError, as_decimal, mixed_number

# A plainer phrase may stand for a nearer one when it is this close.
CLOSE = Decimal("0.02")
# A measure that adds more than this is passed over for the one below it, if that will do.
MUCH = Decimal("0.1")
# Stored volumes are rounded to 0.001 mL, so a tablespoon may come back as 14.787 mL.
STORED = Decimal("0.0005")

CUP_PARTS = [Fraction(text) for text in ("0", "1/4", "1/3", "1/2", "2/3", "3/4")]
CUPS_WITH_SPOONS = 4


@dataclass(frozen=True)
class Measure:
    """One thing to measure out: its volume in mL, how many parts it has, and its words."""

    volume_ml: Decimal
    parts: int
    text: str


def _words(count: Fraction, unit: str) -> str:
    if unit == "cup" and count > 1:
        unit = "cups"
    return f"{mixed_number(count)} {unit}"


def _volume(count: Fraction, unit_ml: Decimal) -> Decimal:
    return EXACT.divide(EXACT.multiply(unit_ml, Decimal(count.numerator)), count.denominator)


def _single(count: Fraction, unit: str, unit_ml: Decimal) -> Measure:
    return Measure(_volume(count, unit_ml), 1, _words(count, unit))


def _spoons(chosen: MeasureSet) -> Iterator[Measure]:
    """Yield quarters of a teaspoon up to a tablespoon, then halves and whole tablespoons."""
    yield _single(Fraction(1, 8), "tsp", chosen.tsp_ml)
    for quarters in range(1, 17):
        measure = _single(Fraction(quarters, 4), "tsp", chosen.tsp_ml)
        if measure.volume_ml < chosen.tbsp_ml - STORED:
            yield measure
    for halves in (2, 3, 4, 5, 6, 7, 8, 10, 12, 14):
        yield _single(Fraction(halves, 2), "tbsp", chosen.tbsp_ml)


def _cups(chosen: MeasureSet) -> Iterator[Measure]:
    """Yield cups with their quarters and thirds, alone and with one to three tablespoons."""
    for whole in range(CUPS_WITH_SPOONS):
        for part in CUP_PARTS:
            count = whole + part
            if not count:
                continue
            cups = _single(count, "cup", chosen.cup_ml)
            yield cups
            for spoons in (1, 2, 3):
                yield Measure(
                    cups.volume_ml + spoons * chosen.tbsp_ml, 2, f"{cups.text} {spoons} tbsp"
                )
    yield _single(Fraction(CUPS_WITH_SPOONS), "cup", chosen.cup_ml)


@cache
def _ladder(slug: str) -> list[Measure]:
    """Return every measure up to four cups, smallest first, one for each volume.

    Where two come to the same volume a cup beats spoons, and one part beats two.
    """
    chosen = measure_set(slug)
    simplest: dict[Decimal, Measure] = {}
    for measure in [*_spoons(chosen), *_cups(chosen)]:
        other = simplest.get(measure.volume_ml)
        if other is None or measure.parts <= other.parts:
            simplest[measure.volume_ml] = measure
    top = CUPS_WITH_SPOONS * chosen.cup_ml
    return [simplest[volume] for volume in sorted(simplest) if volume <= top]


def _around(volume_ml: Decimal, slug: str) -> list[Measure]:
    """Return the measures worth comparing with a volume, smallest first, on both its sides."""
    cup_ml = measure_set(slug).cup_ml
    if volume_ml > CUPS_WITH_SPOONS * cup_ml:
        quarters = EXACT.divide(4 * volume_ml, cup_ml)
        low = int(quarters.to_integral_value(ROUND_FLOOR))
        high = int(quarters.to_integral_value(ROUND_CEILING))
        return [_single(Fraction(count, 4), "cup", cup_ml) for count in sorted({low, high})]
    ladder = _ladder(slug)
    place = bisect_left([measure.volume_ml for measure in ladder], volume_ml)
    return ladder[max(place - 8, 0) : place + 8]


def _simplest(measures: Iterable[Measure], volume_ml: Decimal) -> Measure:
    return min(measures, key=lambda measure: (measure.parts, abs(measure.volume_ml - volume_ml)))


def kitchen_measure(volume_ml: Decimal | float, measures: str) -> str:
    """Write a volume as the nearest spoons and cups.

    Parameters
    ----------
    volume_ml : Decimal, int or float
        Volume, [mL]
    measures : str
        What a spoon and a cup hold: ``"us"``, ``"metric"``, ``"au"`` or ``"imperial"``, [-]

    Returns
    -------
    text : str
        Such as ``"1½ tbsp"``; ``"a few drops"`` under an eighth of a teaspoon. From there the
        text is away from the volume by no more than 2 % or, where that is more, by half a step:
        1/8 tsp below a tablespoon, 1/4 tbsp below four, 0.6 tbsp below four cups and 1/8 cup
        above, [-]

    Raises
    ------
    UnitsError
        If the volume is not a finite number or the measures are not known.

    Examples
    --------
    >>> kitchen_measure(22, "us"), kitchen_measure(473, "us"), kitchen_measure(290, "metric")
    ('1½ tbsp', '2 cups', '1 cup 3 tbsp')
    """
    number = as_decimal(volume_ml, "A volume")
    return signed(number, lambda size: _nearest(size, measures))


def _nearest(volume_ml: Decimal, slug: str) -> str:
    eighth_ml = measure_set(slug).tsp_ml / 8
    if volume_ml == 0:
        return "nothing"
    if volume_ml < eighth_ml - STORED:
        return "a few drops"
    near = _around(volume_ml, slug)
    close = [measure for measure in near if abs(measure.volume_ml - volume_ml) <= CLOSE * volume_ml]
    if close:
        return _simplest(close, volume_ml).text
    return min(near, key=lambda measure: (abs(measure.volume_ml - volume_ml), measure.parts)).text


def round_up_to_measure(
    volume_ml: Decimal | float, measures: str, least_ml: Decimal | float | None = None
) -> tuple[Decimal, str]:
    """Return the next amount up that a person can measure out, or the one just below.

    Parameters
    ----------
    volume_ml : Decimal, int or float
        Volume needed, positive, [mL]
    measures : str
        What a spoon and a cup hold: ``"us"``, ``"metric"``, ``"au"`` or ``"imperial"``, [-]
    least_ml : Decimal, int, float or None
        What will do as well, positive and at most the volume needed, [mL]: a measure that holds so
        much is taken where the next one up adds more than a tenth

    Returns
    -------
    measured_ml : Decimal
        Volume of the measure, never below the volume needed, or else what will do, [mL]
    text : str
        The measure in words, [-]

    Raises
    ------
    UnitsError
        If the volume is not a positive finite number or the measures are not known.

    Examples
    --------
    >>> round_up_to_measure(Decimal("16"), "us")
    (Decimal('22.180147171875'), '1½ tbsp')
    >>> round_up_to_measure(Decimal("15"), "us", Decimal("14.7"))
    (Decimal('14.78676478125'), '1 tbsp')
    """
    number = as_decimal(volume_ml, "A volume")
    if number <= 0:
        raise UnitsError("An amount to mix must be more than zero.")
    near = _around(number, measures)
    enough = [measure for measure in near if measure.volume_ml >= number - STORED]
    close = [measure for measure in enough if measure.volume_ml <= (1 + CLOSE) * number]
    chosen = _simplest(close, number) if close else enough[0]
    if least_ml is not None and chosen.volume_ml > (1 + MUCH) * number:
        least = as_decimal(least_ml, "A volume")
        if below := [measure for measure in near if least <= measure.volume_ml < number]:
            return below[-1].volume_ml, below[-1].text
    return max(chosen.volume_ml, number), chosen.text


def both(volume_ml: Decimal | float, measures: str) -> str:
    """Write a volume in mL and, in brackets, in spoons and cups.

    Parameters
    ----------
    volume_ml : Decimal, int or float
        Volume, [mL]
    measures : str
        What a spoon and a cup hold: ``"us"``, ``"metric"``, ``"au"`` or ``"imperial"``, [-]

    Returns
    -------
    text : str
        Both, rounded as :func:`format_volume` and :func:`kitchen_measure` round, [-]

    Raises
    ------
    UnitsError
        If the volume is not a finite number or the measures are not known.

    Examples
    --------
    >>> both(Decimal("22.18"), "us")
    '22 mL (1½ tbsp)'
    """
    number = as_decimal(volume_ml, "A volume")
    if number == 0:
        return format_volume(number)
    return f"{format_volume(number)} ({kitchen_measure(abs(number), measures)})"
