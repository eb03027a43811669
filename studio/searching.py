"""Anything of a studio by any fragment: each app says what can be found, and where that leads.

A number finds what bears it, words what has all of them in the texts it is known by.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import Model, Q, QuerySet
from django.urls import resolve, reverse

from studio.access import opens
from studio.models import Membership, Studio
from studio.sight import Sight

FEW = 8
# As many words as anybody types.
MOST_WORDS = 8


@dataclass(frozen=True)
class Source:
    """One kind of thing that can be found.

    ``fields`` are the look-ups of the texts it is known by, ``number`` that of its number; ``page``
    is the name of its page, whose address holds ``key``; ``note`` says a word more of a row.
    """

    label: str
    rows: Callable[[Studio], QuerySet[Any]]
    page: str
    fields: tuple[str, ...] = ()
    number: str = ""
    key: str = "pk"
    note: Callable[[Any], str] = lambda row: ""
    sights: tuple[Sight, ...] = ()

    def found(self, studio: Studio, words: list[str]) -> QuerySet[Any]:
        """Return the rows that have all of the words."""
        rows = self.rows(studio)
        for word in words:
            meant = Q(pk__in=())  # nothing, until something is known of it
            for field in self.fields:
                meant |= Q(**{f"{field}__icontains": word})
            if self.number and word.isascii() and word.isdecimal() and len(word) < 10:
                meant |= Q(**{self.number: int(word)})
            rows = rows.filter(meant)
        return rows


@dataclass(frozen=True)
class Hit:
    """One thing that was found."""

    title: str
    note: str
    url: str


@dataclass(frozen=True)
class Hits:
    """What was found of one kind; ``is_more`` says that there is more than is shown."""

    label: str
    rows: tuple[Hit, ...]
    is_more: bool


# In the order in which they are shown; an app adds its own when it is ready.
sources: list[Source] = []


def search(membership: Membership, text: str) -> Iterator[Hits]:
    """Yield what a member finds by a text, kind by kind: one query each, however much there is."""
    words = text.split()[:MOST_WORDS]
    for source in sources if words else ():
        if not all(map(membership.sees, source.sights)):
            continue
        rows: list[Model] = list(source.found(membership.studio, words)[: FEW + 1])
        hits = tuple(_hit(source, row) for row in rows[:FEW])
        if hits and opens(membership, resolve(hits[0].url).func):
            yield Hits(source.label, hits, len(rows) > FEW)


def _hit(source: Source, row: Model) -> Hit:
    url = reverse(source.page, args=[getattr(row, source.key)])
    return Hit(str(row), source.note(row), url)
