"""A period: the days from one to another, both among them, by its name or as they are given."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from studio.dates import FIRST_DAY, LAST_DAY, is_within

DAY = timedelta(days=1)
# The periods that have a name, as an address and the API ask for them.
NAMES = {
    "this-month": "This month",
    "last-month": "Last month",
    "this-quarter": "This quarter",
    "last-quarter": "Last quarter",
    "this-year": "This year",
    "last-year": "Last year",
    "all": "All of it",
}
MONTHS = {"month": 1, "quarter": 3, "year": 12}


class PeriodError(ValueError):
    """Raised when no period is meant; the text says what to give."""


@dataclass(frozen=True)
class Period:
    """The days from ``first`` to ``last``, both among them; None is no bound.

    ``name`` is the one of `NAMES` that it was asked for by, if any.
    """

    first: date | None = None
    last: date | None = None
    name: str = ""

    def __str__(self) -> str:
        """Write the days in words, such as “1 Jan 2026 to 31 Mar 2026”."""
        if self.first and self.last:
            if self.first == self.last:
                return _in_words(self.first)
            return f"{_in_words(self.first)} to {_in_words(self.last)}"
        if self.first:
            return f"from {_in_words(self.first)} on"
        return f"up to {_in_words(self.last)}" if self.last else "all days"

    @property
    def is_bounded(self) -> bool:
        """Whether it leaves out any day."""
        return self.first is not None or self.last is not None

    @property
    def label(self) -> str:
        """Its name, such as “Last month”; empty where it has none."""
        return NAMES.get(self.name, "")

    @property
    def in_file_name(self) -> str:
        """What the name of a file says of it, such as “-2026-01-01-2026-03-31”."""
        return "".join(f"-{day}" for day in (self.first, self.last) if day)

    def of(self, day: str) -> dict[str, date]:
        """Return what a queryset is filtered by, so that a column of days lies in it."""
        bounds = {f"{day}__gte": self.first, f"{day}__lte": self.last}
        return {name: bound for name, bound in bounds.items() if bound is not None}

    def of_moments(self, moment: str, zone: ZoneInfo) -> dict[str, datetime]:
        """Return the same for a column of moments, on the calendar of a time zone."""
        found = {}
        if self.first is not None:
            found[f"{moment}__gte"] = datetime.combine(self.first, time(), zone)
        if self.last is not None:
            found[f"{moment}__lt"] = datetime.combine(self.last + DAY, time(), zone)
        return found


ALWAYS = Period(name="all")


def named_period(name: str, today: date, year_begins: int = 1) -> Period:
    """Return the period of one of `NAMES`, as it is on a day.

    Parameters
    ----------
    name : str
        One of `NAMES`.
    today : date
        The day to go by.
    year_begins : int
        The month that the year begins in, 1 to 12; its quarters are counted from there.

    Examples
    --------
    On 2 May, of a year that begins in April:

    >>> print(named_period("this-quarter", date(2026, 5, 2), 4))
    1 Apr 2026 to 30 Jun 2026
    >>> print(named_period("last-year", date(2026, 5, 2), 4))
    1 Apr 2025 to 31 Mar 2026
    """
    if name == "all":
        return ALWAYS
    which, _, span = name.partition("-")
    months = MONTHS[span]
    # Months are counted through all years, so that a span begins where its number divides.
    now = today.year * 12 + today.month - year_begins
    first = now - now % months - (months if which == "last" else 0)
    begins, ends = (_month(number + year_begins) for number in (first, first + months))
    return Period(begins, ends - DAY, name)


def read_period(
    asked: Mapping[str, str], today: date, year_begins: int = 1, default: str = "all"
) -> Period:
    """Return the period that an address asks for: by ``from`` and ``to``, or by a name.

    Raises `PeriodError` with a sentence where what it says is no day, no name or turned round.
    """
    first, last = (_day(asked.get(name, "")) for name in ("from", "to"))
    if first and last and first > last:
        raise PeriodError(
            f"The period ends before it begins: give a day from {first} on as its end."
        )
    if first or last:
        return Period(first, last)
    name = asked.get("period") or default
    if name not in NAMES:
        raise PeriodError(f"There is no period of that name. There are: {', '.join(NAMES)}.")
    return named_period(name, today, year_begins)


def _day(text: str) -> date | None:
    if not text.strip():
        return None
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        raise PeriodError("Give the days of a period as 2026-03-31.") from None
    if not is_within(day):
        raise PeriodError(f"Give a day from {FIRST_DAY} to {LAST_DAY}.")
    return day


def _month(number: int) -> date:
    """Return the first day of a month counted through all years: 1 is January of the year 0."""
    year, month = divmod(number - 1, 12)
    return date(year, month + 1, 1)


def _in_words(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
