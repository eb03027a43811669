"""Anything of a studio by any fragment: each app says what can be found, and where that leads.

A number finds what bears it, words what has all of them in the texts it is known by. The name of a
kind narrows to it, as in “quote alder”; a size is found however its × is typed.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Model, Q, QuerySet
from django.urls import resolve, reverse

from studio.access import opens
from studio.models import Membership, Studio
from studio.sight import Sight

FEW = 8
# As many words as anybody types.
MOST_WORDS = 8
# So long a beginning of a kind's name means the kind.
KIND = 3
TIMES = re.compile(r"(?<=[0-9½¼¾]) ?[x×*] ?(?=[0-9½¼¾])", re.IGNORECASE)
TIMES_SPELT = (" × ", "×", " x ", "x")


@dataclass(frozen=True)
class Source:
    """One kind of thing that can be found.

    ``fields`` are the look-ups of the texts it is known by, ``number`` that of its number; ``page``
    is the name of its page, whose address holds ``key``; ``note`` says a word more of a row. What
    is written on a thing to be typed or scanned, such as a code, is its ``exact`` text.
    ``seen_fields`` are look-ups too, for those who see what is of their kind.
    """

    label: str
    rows: Callable[[Studio], QuerySet[Any]]
    page: str
    fields: tuple[str, ...] = ()
    number: str = ""
    key: str = "pk"
    note: Callable[[Any], str] = lambda row: ""
    sights: tuple[Sight, ...] = ()
    exact: str = ""
    seen_fields: Mapping[str, Sight] = field(default_factory=dict)

    def direct(self, studio: Studio, text: str) -> str:
        """Return the page of the one row whose ``exact`` text is this one, or nothing."""
        rows = self.rows(studio).filter(**{f"{self.exact}__iexact": text}) if self.exact else ()
        keys = [getattr(row, self.key) for row in rows[:2]]
        return reverse(self.page, args=keys) if len(keys) == 1 else ""

    def found(self, membership: Membership, words: list[str]) -> QuerySet[Any]:
        """Return the rows that have all of the words, in what this member sees of them."""
        rows = self.rows(membership.studio)
        seen = [name for name, sight in self.seen_fields.items() if membership.sees(sight)]
        for word in self._without_kind(words):
            meant = Q(pk__in=())  # nothing, until something is known of it
            for name in (*self.fields, *seen):
                for spelt in _spellings(word):
                    meant |= Q(**{f"{name}__icontains": spelt})
            if self.number and word.isascii() and word.isdecimal() and len(word) < 10:
                meant |= Q(**{self.number: int(word)})
            rows = rows.filter(meant)
        return rows

    def _without_kind(self, words: list[str]) -> list[str]:
        """Leave out the first word where it names this kind and more words follow."""
        first, *others = words
        is_kind = len(first) >= KIND and self.label.casefold().startswith(first.casefold())
        return others if is_kind and others else words


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
    words = TIMES.sub("×", text).split()[:MOST_WORDS]
    for source in sources if words else ():
        if not all(map(membership.sees, source.sights)):
            continue
        rows: list[Model] = list(source.found(membership, words)[: FEW + 1])
        hits = tuple(_hit(source, row) for row in rows[:FEW])
        if hits and opens(membership, resolve(hits[0].url).func):
            yield Hits(source.label, hits, len(rows) > FEW)


def direct(membership: Membership, text: str) -> str:
    """Return the page of what bears exactly this text, such as a bottle's code, or nothing.

    A plain number may also be that of a commission or a quote; then it is left to the person.
    """
    pages = [source.direct(membership.studio, text) for source in sources] if text else []
    pages = [page for page in pages if page and opens(membership, resolve(page).func)]
    if len(pages) != 1:
        return ""
    kinds = search(membership, text) if text.isdecimal() else ()
    others = [hit for kind in kinds for hit in kind.rows if hit.url not in pages]
    return "" if others else pages[0]


def _spellings(word: str) -> tuple[str, ...]:
    """Return how a word may stand in a name: a size with any sign for times, else as it is."""
    return tuple(word.replace("×", times) for times in TIMES_SPELT) if "×" in word else (word,)


def _hit(source: Source, row: Model) -> Hit:
    url = reverse(source.page, args=[getattr(row, source.key)])
    return Hit(str(row), source.note(row), url)
