"""The days a studio works: hands-on minutes by weekday, days off, and places to dry pieces on."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pricing.calendar.timing.errors import TimingError
from studio.money import ZERO

WHOLE_DAY = Decimal(24 * 60)


@dataclass(frozen=True)
class WorkingWeek:
    """What a studio can do by the day.

    ``minutes`` are the hands-on minutes of Monday to Sunday, [min], ``days_off`` dates on which
    nobody works, ``rack_places`` how many pieces can lie drying at once, [-].
    """

    minutes: tuple[Decimal, ...]
    days_off: frozenset[date] = frozenset()
    rack_places: int = 24

    def __post_init__(self) -> None:
        if len(self.minutes) != 7 or any(not 0 <= one <= WHOLE_DAY for one in self.minutes):
            raise TimingError("Give each of the seven weekdays 0 to 24 hours.")
        if not any(self.minutes):
            raise TimingError("Give at least one weekday some hours; nothing gets done in none.")
        if self.rack_places < 1:
            raise TimingError("Give at least one place for a piece to dry on.")

    def minutes_on(self, day: date) -> Decimal:
        """Return the hands-on minutes of a day, [min]."""
        return ZERO if day in self.days_off else self.minutes[day.weekday()]

    @property
    def longest(self) -> Decimal:
        """The hands-on minutes of the longest weekday, [min]."""
        return max(self.minutes)
