"""Letters compared without their case on SQLite, whose own LIKE knows only those of ASCII.

Django's `icontains`, `istartswith` and `iexact` are LIKE there, so this is the one place that makes
“éclat” find “ÉCLAT” in searches, lists and codes alike. PostgreSQL knows all letters by itself.
"""

from fnmatch import fnmatchcase
from functools import lru_cache
from typing import Any

from django.db.backends.signals import connection_created

# What means something in a glob, which a pattern of LIKE is turned into.
MARKS = {mark: f"[{mark}]" for mark in "*?["}
ANY = {"%": "*", "_": "?"}


def like(pattern: str | None, text: Any, escape: str = "") -> bool | None:
    r"""Say what SQL's ``text LIKE pattern ESCAPE escape`` does, with letters of any alphabet.

    Parameters
    ----------
    pattern : str or None
        With ``%`` for any text and ``_`` for any one letter
    text : Any
        What is compared, as SQLite keeps it
    escape : str
        The letter after which a mark means itself, if there is one

    Returns
    -------
    bool or None
        None where there is nothing to compare, as in SQL

    Examples
    --------
    >>> like("%éclat%", "ÉCLAT 4"), like("100\\%", "100 %", "\\"), like("%", None)
    (True, False, None)
    """
    if pattern is None or text is None:
        return None
    return fnmatchcase(str(text).casefold(), _glob(pattern, escape))


@lru_cache(maxsize=512)
def _glob(pattern: str, escape: str) -> str:
    marks, is_escaped = [], False
    for letter in pattern:
        if letter == escape and not is_escaped:
            is_escaped = True
            continue
        marks.append(MARKS.get(letter, letter.casefold()) if is_escaped else _mark(letter))
        is_escaped = False
    return "".join(marks)


def _mark(letter: str) -> str:
    return ANY.get(letter) or MARKS.get(letter, letter.casefold())


def teach(connection: Any, **_: Any) -> None:
    """Give a new connection to SQLite this LIKE in place of its own."""
    if connection.vendor == "sqlite":
        for count in (2, 3):
            connection.connection.create_function("like", count, like, deterministic=True)


def teach_all() -> None:
    """Let every connection be taught as it is opened."""
    connection_created.connect(teach, dispatch_uid="like of all letters")
