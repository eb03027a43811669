"""From amounts and days to places along an axis, with ticks at round values."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import pairwise

from studio.charts.words import width

Number = int | float | Decimal
HUGE, TINY = 1e300, 1e-300
# A range narrower than this share of its amounts is drawn as none: nobody could read its ticks.
FINEST = 1e-6
APART = 10  # between two labels, [px]
WORDS = {6: "millions", 9: "billions", 12: "trillions"}
# (1, so many days) or (30, so many months).
CALENDAR = [(1, step) for step in (1, 2, 5, 10, 15)]
CALENDAR += [(30, step) for step in (1, 2, 3, 6, 12, 24, 60, 120, 240, 600, 1200, 6000, 24_000)]
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MOST_TICKS = 40  # worth trying whether they fit


@dataclass(frozen=True)
class Scale:
    """A straight axis: ``low`` lies at ``start`` and ``high`` at ``end``, [px].

    ``factor`` is what the labels of the ticks are counted in, such as “In millions: ”.
    """

    low: float
    high: float
    start: float
    end: float
    ticks: Sequence[tuple[float, str]]
    factor: str = ""

    def __call__(self, value: float) -> float:
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def is_roomy(self) -> bool:
        """Tell whether the labels stand apart, side by side."""
        spots = [(self(value), width(label) / 2) for value, label in self.ticks]
        return all(b - a >= half + other + APART for (a, half), (b, other) in pairwise(spots))


def finite(value: Number) -> float | None:
    """Return the amount as a float; None for what is no number, or beyond all drawing."""
    number = float(Decimal(value))  # which takes a whole number of any length
    return (number if abs(number) > TINY else 0.0) if abs(number) < HUGE else None


def tell(value: float) -> str:
    """Return the amount in figures, without the noise of its last binary digits.

    >>> tell(0.1 + 0.2), tell(1e12)
    ('0.3', '1,000,000,000,000')
    """
    return f"{Decimal(f'{value:.12g}'):,f}"


def reach(values: Iterable[float], zero: bool = False) -> tuple[float, float]:
    """Return the lowest and highest of the values, moved apart where they are as good as equal."""
    numbers = [*values, *([0.0] if zero else [])] or [0.0]
    low, high = min(numbers), max(numbers)
    largest = max(-low, high)
    if high - low > FINEST * largest:
        return low, high
    return (low - largest / 20, high + largest / 20) if largest else (0.0, 1.0)


def amounts(
    low: float, high: float, start: float, end: float, *, most: int = 6, nice: bool = True
) -> Scale:
    """Return a scale with about ``most`` ticks, fewer across the page until labels stand apart.

    They stand at 1, 2 or 5 times a power of ten; a ``nice`` scale begins and ends at one.
    """
    while True:
        power = Decimal(1).scaleb(math.floor(math.log10((high - low) / most)))
        step = next(n * power for n in (1, 2, 5, 10, 20) if (high - low) / most <= float(n * power))
        first, last = low / float(step), high / float(step)
        down, up = (math.floor, math.ceil) if nice else (math.ceil, math.floor)
        values = [place * step for place in range(down(first), up(last) + 1)]
        labels, factor = _labels(values, step)
        ticks = [(float(value), label) for value, label in zip(values, labels, strict=True)]
        ends = (ticks[0][0], ticks[-1][0]) if nice else (low, high)
        scale = Scale(*ends, start, end, ticks, factor)
        if end < start or most <= 2 or scale.is_roomy():
            return scale
        most -= 1


def _labels(values: Sequence[Decimal], step: Decimal) -> tuple[list[str], str]:
    largest = max((abs(value) for value in values), default=Decimal(0))
    power = 3 * (largest.adjusted() // 3) if largest else 0
    power = 0 if -3 <= power < 6 else power
    places = max(0, power - step.normalize().adjusted())
    comma = "\u202f" if largest.scaleb(-power) >= 10_000 else ""
    labels = [
        f"{value.scaleb(-power):,.{places}f}".replace(",", comma).replace("-", "\u2212")
        for value in values
    ]
    return labels, f"In {WORDS.get(power, f'10^{power}')}: " if power else ""


def days(dates: Iterable[date], start: float, end: float) -> Scale:
    """Return a scale of days, counted as their ordinals, with ticks where the calendar turns.

    Years stand in ``factor`` if all days share one, and else on the labels at which they turn.
    """
    ordinals = [day.toordinal() for day in dates] or [1]
    low, high = min(ordinals), max(ordinals)
    if high - low < 2:
        low, high = max(low - 2, 1), min(high + 2, date.max.toordinal())
    first, last = date.fromordinal(low), date.fromordinal(high)
    year = first.year if first.year == last.year else 0
    for unit, step in CALENDAR:
        if (high - low) / (unit * step) > MOST_TICKS:
            continue
        ticks, before = [], year
        for day in _turns(first, last, unit, step):
            words = [f"{day.day}"] * (unit == 1) + [MONTHS[day.month - 1]] * (step % 12 > 0)
            label = " ".join(words + [f"{day.year}"] * (day.year != before or not words))
            ticks.append((float(day.toordinal()), label))
            before = day.year
        scale = Scale(low, high, start, end, ticks, f"{year or ''}")
        if scale.is_roomy():
            break
    return scale


def _turns(first: date, last: date, unit: int, step: int) -> Iterator[date]:
    if unit == 1:
        dates = map(date.fromordinal, range(first.toordinal(), last.toordinal() + 1))
        # No tick on the last days of a month, which would stand close to the first of the next.
        return (d for d in dates if step == 1 or (d.day % step == 1 and d.day <= 31 - step))
    begin = -(-(first.year * 12 + first.month - 1) // step) * step
    places = range(begin, last.year * 12 + last.month, step)
    firsts = (date(place // 12, place % 12 + 1, 1) for place in places)
    return (day for day in firsts if day >= first)
