"""What is asked of pours, fixed beforehand; bands and cuts are common practice, no source.

Every question sets two sides against each other, and where a thing is measured it may have a third
band that is only counted. What is not known of a pour answers nothing.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date

from studio.units import degrees

SHORT, MIDDLE, LONG = "under 4 s", "4–6 s", "over 6 s"
AIR = frozenset({"blow", "straw", "dryer"})


@dataclass(frozen=True)
class Seen:
    """One pour whose pieces were judged, and what is known of it; None is not known.

    ``good`` of ``judged`` pieces; ``rating`` is the mean of their ratings, 1 to 5. Traces are [s],
    of colours the mean of all of them; ``moves`` codes of ways of moving, empty where it was not
    moved; ``rest_minutes`` [min], ``room_c`` [°C].
    """

    number: int
    day: date
    good: int
    judged: int
    rating: float | None = None
    base_trace: float | None = None
    colours_trace: float | None = None
    moves: Collection[str] | None = None
    has_heat: bool | None = None
    rest_minutes: float | None = None
    was_covered: bool | None = None
    room_c: float | None = None

    @property
    def share(self) -> float:
        """The share of its judged pieces that are good."""
        return self.good / self.judged


@dataclass(frozen=True)
class Question:
    """One thing that is asked: its name, its two sides, and in which band a pour lies, or None."""

    name: str
    sides: tuple[str, str]
    band: Callable[[Seen], str | None]
    more: tuple[str, ...] = ()

    @property
    def bands(self) -> tuple[str, ...]:
        """All bands there are, the two sides first."""
        return (*self.sides, *self.more)


def trace_band(seconds: float | None) -> str | None:
    """Return the band of a trace, [s].

    >>> trace_band(3.9), trace_band(4), trace_band(6), trace_band(6.1), trace_band(None)
    ('under 4 s', '4–6 s', '4–6 s', 'over 6 s', None)
    """
    if seconds is None:
        return None
    return SHORT if seconds < 4 else MIDDLE if seconds <= 6 else LONG


def _one_of(first: str, second: str, is_first: bool | None) -> str | None:
    return None if is_first is None else first if is_first else second


def _at_least(sides: tuple[str, str], figure: float | None, least: float) -> str | None:
    return _one_of(*sides, None if figure is None else figure >= least)


def _air(seen: Seen) -> bool | None:
    return None if seen.moves is None else bool(AIR & set(seen.moves))


TRACE = (MIDDLE, SHORT)
MOVED = ("with air", "without air")
HEATED = ("with heat", "without heat")
RESTED = ("3 minutes or more", "under 3 minutes")
COVERED = ("covered", "not covered")
ROOM = (f"{degrees(20)} or more", f"under {degrees(20)}")
QUESTIONS = (
    Question("Trace of the base", TRACE, lambda one: trace_band(one.base_trace), (LONG,)),
    Question("Trace of the colours", TRACE, lambda one: trace_band(one.colours_trace), (LONG,)),
    Question("Blown, straw or dryer", MOVED, lambda one: _one_of(*MOVED, _air(one))),
    Question("Torch or heat gun", HEATED, lambda one: _one_of(*HEATED, one.has_heat)),
    Question("Rest before moving", RESTED, lambda one: _at_least(RESTED, one.rest_minutes, 3)),
    Question("Cover while drying", COVERED, lambda one: _one_of(*COVERED, one.was_covered)),
    Question("Room", ROOM, lambda one: _at_least(ROOM, one.room_c, 20)),
)
