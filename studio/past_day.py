"""A past day that a report is asked for, by ``as_of``."""

from datetime import date

from studio.dates import FIRST_DAY, is_within

NAME = "as_of"


class PastDayError(ValueError):
    """Raised when no day is meant that has come; the text says what to give."""


def read_past_day(text: str, today: date) -> date | None:
    """Return the past day that a text asks for; None for today and where nothing is asked.

    Parameters
    ----------
    text : str
        A day as 2026-03-31, or nothing.
    today : date
        The day on the studio's own wall clock.

    Raises
    ------
    PastDayError
        For a text that is no day, and for a day that has not come.

    Examples
    --------
    >>> read_past_day("2026-03-31", date(2026, 5, 2))
    datetime.date(2026, 3, 31)
    >>> read_past_day("2026-05-02", date(2026, 5, 2)) is None
    True
    """
    if not text.strip():
        return None
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        raise PastDayError("Give the day as 2026-03-31.") from None
    if day > today:
        raise PastDayError(f"{day} has not come yet. Give today, {today}, or a day before.")
    if not is_within(day):
        raise PastDayError(f"Give a day from {FIRST_DAY} to {today}.")
    return None if day == today else day
