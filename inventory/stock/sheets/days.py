"""Dates as they stand in sheets, in several forms and languages."""

import re
from calendar import monthrange
from collections.abc import Iterable
from datetime import date
from functools import cache

from babel import Locale

from inventory.stock.sheets.doubts import CellDoubtful, CellWrong, SheetAsked, shown
from inventory.stock.sheets.words import NOTHING_SAID, plain_words

LANGUAGES = ("en", "de", "fr", "es", "it", "nl", "pt")
YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[ t]\d.*)?")
DIGITS = re.compile(r"(\d{1,2})([./-]) ?(\d{1,2})[./-] ?(\d{4}|\d{2})")
MONTH_DIGITS = re.compile(r"(\d{1,2})[./-](\d{4})|(\d{4})-(\d{1,2})")
DAY_WORD = re.compile(
    r"(\d{1,2})(?:er|st|nd|rd|th|\.)?[ -]*(?:de )?([a-z]+)\.?[ ,-]*(?:de )?(\d{4}|\d{2})"
)
WORD_DAY = re.compile(r"([a-z]+)\.? *(\d{1,2})(?:st|nd|rd|th)?[ ,]+(\d{4}|\d{2})")
WORD_YEAR = re.compile(r"([a-z]+)\.?[ -]*(?:de )?(\d{4})")
YEAR = re.compile(r"\d{4}")
LONGEST = 40  # characters
UNREAD = "“{}” is not a date. Write it as year, month and day, such as 2026-05-31."


@cache
def months() -> dict[str, int]:
    """Return {name of a month, in full or short: its number}."""
    found: dict[str, int] = {}
    for language in LANGUAGES:
        names = Locale.parse(language).months
        for use in ("format", "stand-alone"):
            for width in ("wide", "abbreviated"):
                for number, name in names[use][width].items():
                    found.setdefault(plain_words(name).rstrip("."), number)
    return found | {"sept": 9, "marz": 3, "maerz": 3, "janner": 1}


def orders_in(texts: Iterable[str]) -> set[str]:
    """Return which comes first in the dates that leave no doubt: ``day``, ``month``, both or none.

    >>> orders_in(["3/4/26", "13/4/26"])
    {'day'}
    """
    found = set()
    for text in texts:
        if match := DIGITS.fullmatch(text[:LONGEST].strip()):
            first, second = int(match[1]), int(match[3])
            if first > 12 >= second:
                found.add("day")
            elif second > 12 >= first:
                found.add("month")
    return found


def read_day(text: str, order: str, ends: bool) -> date | None:
    """Read a date; None where the cell says nothing.

    ``order`` is which of ``3/4/26`` comes first, ``day``, ``month`` or nothing while nobody has
    said; with points between it is the day. A month alone is its last day where something ``ends``,
    as labels have it, else its first.

    >>> read_day("avril 2026", "", True), read_day("3/4/26", "month", False)
    (datetime.date(2026, 4, 30), datetime.date(2026, 3, 4))
    """
    if len(text) > LONGEST:
        raise CellWrong(UNREAD.format(shown(text)))
    plain = " ".join(plain_words(text).split())
    if plain in NOTHING_SAID or plain == "?":
        return None
    if match := YEAR_FIRST.fullmatch(plain):
        return _day(int(match[1]), int(match[2]), int(match[3]), text)
    if match := DIGITS.fullmatch(plain):
        return _of_digits(match, order, text)
    if match := MONTH_DIGITS.fullmatch(plain):
        month, year = (match[1], match[2]) if match[1] else (match[4], match[3])
        return _month(int(year), int(month), ends, text)
    if match := DAY_WORD.fullmatch(plain):
        return _day(_year(match[3]), _named(match[2], text), int(match[1]), text)
    if match := WORD_DAY.fullmatch(plain):
        return _day(_year(match[3]), _named(match[1], text), int(match[2]), text)
    if match := WORD_YEAR.fullmatch(plain):
        return _month(int(match[2]), _named(match[1], text), ends, text)
    if YEAR.fullmatch(plain):
        raise CellDoubtful(f"Which day of {plain}? Write it such as {plain}-05-31.")
    raise CellWrong(UNREAD.format(shown(text)))


def _of_digits(match: re.Match[str], order: str, text: str) -> date:
    first, second, year = int(match[1]), int(match[3]), _year(match[4])
    if max(first, second) > 12:
        day_first = first > 12
    elif match[2] == ".":
        day_first = True
    elif order or first == second:
        day_first = order != "month"
    else:
        raise SheetAsked("days")
    day, month = (first, second) if day_first else (second, first)
    return _day(year, month, day, text)


def _year(digits: str) -> int:
    return int(digits) if len(digits) == 4 else 2000 + int(digits)


def _named(word: str, text: str) -> int:
    if word not in months():
        raise CellWrong(UNREAD.format(shown(text)))
    return months()[word]


def _day(year: int, month: int, day: int, text: str) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise CellWrong(f"There is no day “{shown(text)}” in the calendar.") from None


def _month(year: int, month: int, ends: bool, text: str) -> date:
    last = monthrange(year, month)[1] if ends and 1 <= month <= 12 and year else 1
    return _day(year, month, last, text)
