"""The days that a studio's work can lie on.

A century and a half around now: what lies outside is a slip of the hand, and the arithmetic of days
(a day further, another time zone) fails at the ends of the calendar.
"""

from datetime import date

from django.core.exceptions import ValidationError

FIRST_DAY, LAST_DAY = date(1950, 1, 1), date(2100, 12, 31)
SENTENCE = f"Give a date from {FIRST_DAY.year} to {LAST_DAY.year}."


def is_within(day: date) -> bool:
    """Tell whether a date or a moment lies in the years that are taken."""
    return FIRST_DAY.year <= day.year <= LAST_DAY.year


def in_full(day: date) -> str:
    """Write a day in full, such as “4 May 2026”."""
    return f"{day.day} {day:%B %Y}"


def validate_day(day: date) -> None:
    """Refuse a date or a moment that lies in no year of a studio's work."""
    if not is_within(day):
        raise ValidationError(SENTENCE, code="day")
