"""Numbers as they stand in sheets, with points, commas, spaces and apostrophes, in plain form."""

import re
from collections.abc import Iterable

from inventory.stock.sheets.doubts import CellWrong, SheetAsked, shown
from inventory.stock.sheets.words import plain_words

NUMERAL = re.compile(r"\d{1,3}(?:[ ']\d{3})++(?:[.,]\d++)?(?![\d.,])|\d++(?:[.,]\d++)*+|[.,]\d++")
EITHER = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")
GROUPED = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d{1,3}(?:\.\d{3})+(?:,\d+)?")
MARKS = re.compile(r"[.,]")
LONGEST = 60  # characters of a cell that has a number in it
DECIMALS = {"point": ".", "comma": ","}


def marks_in(texts: Iterable[str]) -> set[str]:
    """Return which marks the texts certainly use for decimals: ``point``, ``comma``, both or none.

    >>> sorted(marks_in(["12,50", "1.000", "3"]))
    ['comma']
    """
    found = set()
    for text in (text for text in texts if len(text) <= LONGEST):
        for numeral in NUMERAL.findall(plain_words(text)):
            marks = MARKS.findall(numeral)
            if marks and not EITHER.fullmatch(numeral) and marks.count(marks[-1]) == 1:
                found.add("comma" if marks[-1] == "," else "point")
    return found


def plain_numbers(text: str, decimals: str) -> str:
    """Return text with its numbers as digits and a decimal point.

    ``decimals`` says what ``1.234`` means: ``point``, ``comma``, or nothing while nobody has said;
    then `SheetAsked` is raised for such a number.

    >>> plain_numbers("1 234,56", ""), plain_numbers("1.000 ml", "comma")
    ('1234.56', '1000 ml')
    """
    return NUMERAL.sub(lambda found: _plain(found[0], decimals), text)


def _plain(numeral: str, decimals: str) -> str:
    number = numeral.replace(" ", "").replace("'", "")
    marks = MARKS.findall(number)
    if not marks:
        return number
    if EITHER.fullmatch(number):
        if number != numeral:
            raise CellWrong(
                f"“{shown(numeral)}” is grouped in an unusual way. Write it like 1234.5."
            )
        if not decimals:
            raise SheetAsked("decimals")
        is_decimal = DECIMALS[decimals] == marks[0]
        return MARKS.sub("." if is_decimal else "", number)
    if marks.count(marks[-1]) == 1 and (len(marks) == 1 or GROUPED.fullmatch(number)):
        whole, part = number.rsplit(marks[-1], 1)
        return f"{MARKS.sub('', whole) or '0'}.{part}"
    if GROUPED.fullmatch(number):
        return MARKS.sub("", number)
    raise CellWrong(f"“{shown(numeral)}” is not a number. Write it like 1234.5.")
