"""Text as it is kept: no characters that are not text, in one form, in one line or in several.

Text pasted from office programs, read from files or made up by a program may hold characters that
nobody sees and that something further on cannot bear: a PDF, a calendar feed, XML, a database.
They are taken out, and what they parted stays parted.
"""

import re
import unicodedata
from collections.abc import Iterator
from typing import Any

# What parts lines: line feed, vertical tab, form feed, file to record separators, next line,
# and Unicode's own two.
LINE_BREAK = re.compile("\r\n|[\n\r\x0b\x0c\x1c-\x1e\x85\u2028\u2029]")
NONCHARACTERS = "".join(chr(plane << 16 | last) for plane in range(17) for last in (0xFFFE, 0xFFFF))
# Control characters but tab and line feed, lone surrogates, what turns the direction of writing
# (U+202A to 202E, U+2066 to 2069) and the 66 code points that are no characters.
NO_TEXT = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\u202a-\u202e\u2066-\u2069\ufdd0-\ufdef"
    f"{NONCHARACTERS}]"
)
BLANK = re.compile(r"[\t\n]")
# As Unicode's stream-safe format has it (UAX #15): no script needs more, and bringing n marks in a
# row into normal form takes n² steps.
MOST_MARKS = 30


def several_lines(text: str) -> str:
    r"""Return text of several lines as it is kept.

    Line breaks become line feeds, tabs stay, and the rest is in Unicode's normal form C.

    >>> several_lines("Cafe\u0301\r\nback\u0007 door")
    'Café\nback door'
    """
    if text.isascii() and text.isprintable():
        return text
    text = NO_TEXT.sub("", LINE_BREAK.sub("\n", text))
    if text.isascii():
        return text
    return unicodedata.normalize("NFC", "".join(_few_marks(text)))


def _few_marks(text: str) -> Iterator[str]:
    """Yield the characters, but of marks in a row no more than belong to one letter."""
    marks = 0
    for char in text:
        marks = marks + 1 if unicodedata.category(char).startswith("M") else 0
        if marks <= MOST_MARKS:
            yield char


def one_line(text: str) -> str:
    r"""Return text of one line as it is kept: breaks and tabs are blanks, and none stand around it.

    >>> one_line(" Teal\x0b and\ttan\n")
    'Teal and tan'
    """
    parts = (part.strip() for part in BLANK.split(several_lines(text)))
    return " ".join(filter(None, parts))


def shortened(text: str, most: int) -> str:
    """Return text that the program itself composed, cut to ``most`` characters where it is longer.

    What a person wrote is never cut: the fields of the models refuse what is too long.

    >>> shortened("Delivery from Tidewater Pigments", 20)
    'Delivery from Tidew…'
    """
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def clean_json(value: Any) -> Any:
    """Return a value of JSON, every text in it, names too, as :func:`several_lines` keeps it.

    Raises
    ------
    ValueError
        For a number that is none, such as infinity, and for what is nested too deep.
    """
    try:
        return _clean(value)
    except RecursionError:
        raise ValueError("This is nested too deep.") from None


def _clean(value: Any) -> Any:
    if isinstance(value, str):
        return several_lines(value)
    if isinstance(value, dict):
        return {_clean(name): _clean(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(inner) for inner in value]
    if isinstance(value, float) and not float("-inf") < value < float("inf"):
        raise ValueError("This holds a number that is none.")
    return value
