"""What would become of each row of a file."""

import hashlib
from collections import Counter
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from studio.errors import StudioError


class Fate(StrEnum):
    """What becomes of one row."""

    NEW = "new"
    CHANGED = "changed"
    SAME = "same"
    WRONG = "wrong"


@dataclass(frozen=True)
class Change:
    """One cell that changes something, before and after as text."""

    heading: str
    before: str
    after: str


@dataclass(frozen=True)
class Fault:
    """What is wrong with one cell; with the row as a whole where ``heading`` is empty."""

    heading: str
    sentence: str


@dataclass(frozen=True)
class RowFate:
    """One row: its line in the file, what it is about, its fate and why.

    ``write`` is what its sheet needs to carry it out.
    """

    line: int
    what: str
    fate: Fate
    changes: tuple[Change, ...] = ()
    faults: tuple[Fault, ...] = ()
    note: str = ""
    write: Any = field(default=None, repr=False, compare=False)


@dataclass(frozen=True)
class Preview:
    """The fate of every row of a file, in its order, and what to know about the file."""

    rows: tuple[RowFate, ...]
    notices: tuple[str, ...] = ()

    @property
    def counts(self) -> dict[str, int]:
        """Return how many rows there are of each fate."""
        counts = Counter(row.fate for row in self.rows)
        return {fate.value: counts[fate] for fate in Fate}

    @property
    def is_right(self) -> bool:
        return not any(row.fate == Fate.WRONG for row in self.rows)

    @property
    def changes_something(self) -> bool:
        return any(row.fate in (Fate.NEW, Fate.CHANGED) for row in self.rows)

    @property
    def digest(self) -> str:
        """Return what tells this preview from one made when something else was on the shelf."""
        facts = [(row.line, row.what, row.fate.value, row.changes) for row in self.rows]
        return hashlib.sha256(repr(facts).encode()).hexdigest()


class ImportRefused(StudioError):
    """A file of which nothing was brought in; ``preview`` says what is wrong."""

    code = "import_refused"

    def __init__(self, sentence: str, preview: Preview) -> None:
        self.preview = preview
        super().__init__(sentence)

    @property
    def fields(self) -> dict[str, list[str]]:
        """Return each cell at fault with its sentences, named as ``lines.3.Kind``."""
        sentences: dict[str, list[str]] = {}
        for row in self.preview.rows:
            for fault in row.faults:
                name = f"lines.{row.line}.{fault.heading}".rstrip(".")
                sentences.setdefault(name, []).append(fault.sentence)
        return sentences
