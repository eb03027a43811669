"""Lists as files: which columns, and where their values come from."""

import zoneinfo
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

from django.db.models import Choices, QuerySet

from studio.models import Studio
from studio.tables.writing import table_bytes

CHUNK = 2_000


@dataclass(frozen=True)
class Listed:
    """One column: its heading, the look-up of its value, and the words for a choice's values."""

    heading: str
    lookup: str
    words: type[Choices] | None = None

    def shown(self, value: Any, zone: tzinfo) -> Any:
        """Return a value as it is written: a choice in words, a moment on the studio's clock."""
        if self.words is not None and value:
            return self.words(value).label
        return value.astimezone(zone) if isinstance(value, datetime) else value


@dataclass(frozen=True)
class Listing:
    """One list of a studio: ``rows`` takes a studio and returns a queryset, read in one query."""

    name: str
    title: str
    rows: Callable[[Studio], QuerySet[Any]]
    columns: tuple[Listed, ...]

    @property
    def headings(self) -> list[str]:
        return [column.heading for column in self.columns]

    def lines(self, studio: Studio) -> Iterator[list[Any]]:
        """Yield the list, row by row, without holding all of it."""
        zone = zoneinfo.ZoneInfo(studio.time_zone)
        found = self.rows(studio).values_list(*(column.lookup for column in self.columns))
        for values in found.iterator(chunk_size=CHUNK):
            yield [
                column.shown(value, zone)
                for column, value in zip(self.columns, values, strict=True)
            ]

    def file(self, studio: Studio, extension: str) -> bytes:
        """Return the list as the bytes of a file."""
        return table_bytes(extension, self.headings, self.lines(studio), self.title)
