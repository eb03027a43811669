"""Text in a picture: only what XML can hold, and no wider than its room."""

import re
from bisect import bisect_right
from itertools import accumulate
from unicodedata import bidirectional, category, east_asian_width

SIZE = 13  # [px]
MOST_MARKS = 4  # on one letter: more than any language writes, and they would pile up
NOT_XML = re.compile("[^ -~\xa0-\u2027\u202f-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
TURNS = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")  # of direction


def clean(text: object) -> str:
    """Return one line that XML can hold: breaks as a space, other controls as U+FFFD."""
    line = TURNS.sub("", str(text))
    line = NOT_XML.sub(lambda bad: " " if bad[0].isspace() else "\ufffd", line)
    return re.sub(" +", " ", line).strip(" ")


def letters(text: str) -> list[str]:
    """Return each letter with the marks that belong to it, which are never cut apart."""
    clusters: list[str] = []
    for sign in text:
        if clusters and (
            category(sign) in ("Mn", "Me", "Mc", "Cf") or clusters[-1][-1] == "\u200d"
        ):
            clusters[-1] += sign if len(clusters[-1]) <= MOST_MARKS else ""
        else:
            clusters.append(sign)
    return clusters


def width(text: str) -> float:
    """Return how wide a line is in a wide common font, [px]; the reader's is not known."""
    return sum(map(_width, letters(text)))


def _width(letter: str) -> float:
    sign = letter[0]
    if sign in " .,:;'|!iIjl()[]ft\u202f-":
        return SIZE * 0.42
    if east_asian_width(sign) in "WF":
        return SIZE * 1.3
    return SIZE * (1.0 if sign in "mwMW@%…—−\ufffd" else 0.78 if sign.isupper() else 0.66)


def shorten(text: str, room: float) -> str:
    """Return the text, or as much of its beginning as fits with “…” after it, in its own direction.

    >>> shorten("Salt marsh at first light", 100)
    'Salt marsh…'
    """
    parts = letters(text)
    ends = list(accumulate(map(_width, parts)))
    if ends and ends[-1] > room:
        fitting = bisect_right(ends, room - width("…"))
        parts = ["".join(parts[:fitting]).rstrip() + "…"]
    short = "".join(parts)
    return f"\u2068{short}\u2069" if {"R", "AL"} & set(map(bidirectional, short)) else short
