"""Text that a spreadsheet would take for a formula: marked when written, unmarked when read.

What starts a formula: OWASP, "CSV Injection" (=, +, -, @, tab, carriage return, line feed, and the
full-width forms). Marking is one to one, so that every text comes back as it was.
"""

import re

MARK = "'"
FORMULA = re.compile(rf"{MARK}*\s*[=+\-@\t\r\n＝＋－＠]")


def guarded(text: str) -> str:
    """Return text that no spreadsheet runs: an apostrophe before what would start a formula.

    >>> guarded("=1+1"), guarded("white"), guarded("'=1")
    ("'=1+1", 'white', "''=1")
    """
    return MARK + text if FORMULA.match(text) else text


def unguarded(text: str) -> str:
    """Return text as it was before `guarded`.

    >>> unguarded("'=1+1"), unguarded("'white'")
    ('=1+1', "'white'")
    """
    return text[1:] if text.startswith(MARK) and FORMULA.match(text[1:]) else text
