"""Lists as files: which columns, and where their values come from."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo
from typing import Any

from django.db.models import Choices, QuerySet

from studio.models import Membership, Studio
from studio.period_rows import in_period
from studio.periods import ALWAYS, Period
from studio.sight import Sight
from studio.tables.writing import table_bytes

CHUNK = 2_000


@dataclass(frozen=True)
class ListColumn:
    """One column: its heading, the look-up of its value, and the words for a choice's values.

    ``sight`` is the kind of knowledge that it is of, where not every member sees it.
    """

    heading: str
    lookup: str
    words: type[Choices] | None = None
    sight: Sight | None = None

    def cell(self, value: Any, zone: tzinfo) -> Any:
        """Return a value as it is written: a choice in words, a moment on the studio's clock."""
        if self.words is not None and value:
            return self.words(value).label
        return value.astimezone(zone) if isinstance(value, datetime) else value


@dataclass(frozen=True)
class Listing:
    """One list of a studio: ``rows`` takes a studio and returns a queryset, read in one query.

    ``sights`` are the kinds of knowledge that all of it is of, ``dated_by`` is the day or moment of
    a row by which the list can be of a period.
    """

    name: str
    title: str
    rows: Callable[[Studio], QuerySet[Any]]
    columns: tuple[ListColumn, ...]
    sights: tuple[Sight, ...] = ()
    dated_by: str = ""

    def seen_by(self, membership: Membership) -> "Listing":
        """Return the list with the columns that a member sees."""
        columns = (one for one in self.columns if not one.sight or membership.sees(one.sight))
        return replace(self, columns=tuple(columns))

    @property
    def headings(self) -> list[str]:
        return [column.heading for column in self.columns]

    def lines(self, studio: Studio, period: Period = ALWAYS) -> Iterator[list[Any]]:
        """Yield the list, row by row, without holding all of it; of a period where it is dated."""
        zone = studio.zone
        rows = self._chosen(studio, period).values_list(*(column.lookup for column in self.columns))
        for values in rows.iterator(chunk_size=CHUNK):
            yield [
                column.cell(value, zone) for column, value in zip(self.columns, values, strict=True)
            ]

    def file(self, studio: Studio, extension: str, period: Period = ALWAYS) -> bytes:
        """Return the list as the bytes of a file."""
        return table_bytes(extension, self.headings, self.lines(studio, period), self.title)

    def count(self, studio: Studio, period: Period = ALWAYS) -> int:
        """Return how many rows the file has."""
        return self._chosen(studio, period).count()

    def _chosen(self, studio: Studio, period: Period) -> "QuerySet[Any]":
        rows = self.rows(studio)
        return in_period(rows, self.dated_by, period, studio) if self.dated_by else rows
