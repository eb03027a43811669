"""An archive's rows as the models have them: cells checked, names of other rows followed."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Self

from django.core.exceptions import ValidationError
from django.db.models import Model

from studio.text import shortened
from studio.transfer.files import Files
from studio.transfer.older import TODAY, Cells, Older
from studio.transfer.parts import (
    ArchivePart,
    Column,
    TransferRefused,
    is_person,
    lookup,
    related,
    value_of,
)
from studio.transfer.tables import refuse, rows
from studio.transfer.writing import BESIDES, SETTINGS_FILE, settings_fields

MOST_ROWS = 200_000  # of all tables
BATCH, FEW = 500, 20  # rows at a time; with files beside them
LONGEST_KEY = 18  # [digits]


class Reading:
    """One pass over an archive, which gives rows keys as it goes.

    Parameters
    ----------
    files : Files
    parts : sequence of ArchivePart
        Each after those that its rows name.
    people : dict of str to int
        Keys of the people whom rows may name, by e-mail address.
    older : Older
        What became of its tables, where it was written by an older version.
    """

    def __init__(
        self,
        files: Files,
        parts: Sequence[ArchivePart],
        people: Mapping[str, int],
        older: Older = TODAY,
    ) -> None:
        self.files, self.parts, self.people, self.older = files, parts, people, older
        self.keys: dict[type[Model], dict[str, int]] = {}
        self.count = 0

    def settings(self) -> dict[str, Any]:
        """Return {field: value} of the studio itself, as far as the archive has them."""
        columns = [_Column.of(field) for field in settings_fields()]
        lines = list(rows(self.files, SETTINGS_FILE, {column.name for column in columns}))
        if len(lines) != 1:
            raise TransferRefused(f"{SETTINGS_FILE} must have one row.")
        ((line, cells),) = lines
        return {
            column.attname: self._value(SETTINGS_FILE, line, column, cells[column.name])
            for column in columns
            if column.name in cells
        }

    def batches(self) -> Iterator[tuple[ArchivePart, list[Any]]]:
        """Yield (part, rows) for all tables; the caller saves each row, which gives it its new key.

        A row comes after all that it names.
        """
        self._refuse_unknown_files()
        for part in self.parts:
            keys = self.keys[part.model] = {}
            for batch in self._batches(part, keys):
                yield part, list(batch.values())
                keys.update((old, row.pk) for old, row in batch.items())

    def _batches(self, part: ArchivePart, keys: Mapping[str, int]) -> Iterator[dict[str, Any]]:
        columns = [_Column.of(field) for field in part.columns]
        home = [column.name for column in columns if column.related is part.model]
        most = FEW if part.bytes_of else BATCH
        pending: dict[str, Any] = {}
        names = {column.name for column in columns}
        for line, cells in self.older.rows(part.file, names, partial(rows, self.files)):
            old = cells.get("id", "")
            if not (old.isascii() and old.isdecimal() and len(old) <= LONGEST_KEY):
                refuse(part.file, line, "id", "Every row needs a number of its own.")
            if old in keys or old in pending:
                refuse(part.file, line, "id", f"The number {old} stands twice.")
            if len(pending) == most or any(cells.get(name) in pending for name in home):
                yield pending
                pending = {}
            pending[old] = self._row(part, columns, line, cells)
            self.count += 1
            if self.count > MOST_ROWS:
                raise TransferRefused(
                    f"The archive has more than {MOST_ROWS:,} rows, more than are read at once."
                )
        if pending:
            yield pending

    def _row(
        self, part: ArchivePart, columns: Iterable["_Column"], line: int, cells: Cells
    ) -> Model:
        row = part.model()
        for column in columns:
            if column.name in cells:
                if not column.is_key:
                    value = self._value(part.file, line, column, cells[column.name])
                    setattr(row, column.attname, value)
            elif column.is_needed:
                refuse(part.file, line, column.name, "This column is missing.")
        if part.bytes_of:
            try:
                setattr(row, part.bytes_of, self.files.read(part.file_of(cells["id"])))
            except KeyError:
                refuse(part.file, line, "id", "The file that goes with it is missing.")
        if part.adapt:
            try:
                part.adapt(row, self.keys)
            except ValidationError as error:
                refuse(part.file, line, "", error.messages[0])
        return row

    def _value(self, file: str, line: int, column: "_Column", text: str) -> Any:
        if column.is_person:
            return self.people.get(text)
        if column.related is not None:
            return self._key(file, line, column, column.related, text)
        try:
            return column.read(text)
        except ValidationError as error:
            refuse(file, line, column.name, error.messages[0])

    def _key(
        self, file: str, line: int, column: "_Column", related: type[Model], text: str
    ) -> int | None:
        if not text and column.may_be_null:
            return None
        key = self.keys.get(related, {}).get(text)
        if key is None:
            word = related._meta.verbose_name
            refuse(file, line, column.name, f"There is no {word} “{shortened(text, 20)}” in it.")
        return key

    def _refuse_unknown_files(self) -> None:
        names = {SETTINGS_FILE, *BESIDES, *(part.file for part in self.parts)}
        folders = tuple(f"{part.place}/" for part in self.parts if part.bytes_of)
        for name in self.files.names:
            if name not in names and not name.startswith(folders):
                safe_name = name[:60].encode("ascii", "backslashreplace").decode()
                raise TransferRefused(
                    f"“{safe_name}” in the archive is no part of a studio. Nothing was brought in."
                )


@dataclass(frozen=True)
class _Column:
    """What reading a cell needs to know of its field, looked up once for all cells."""

    name: str
    attname: str
    is_key: bool
    is_person: bool
    related: type[Model] | None
    may_be_null: bool
    is_needed: bool
    read: Callable[[str], Any]

    @classmethod
    def of(cls, field: Column) -> Self:
        is_key = field.primary_key
        is_optional = field.has_default() or field.null or field.blank
        return cls(
            lookup(field).removesuffix("__email"),
            field.attname,
            is_key,
            is_person(field),
            related(field),
            field.null,
            not is_key and not is_optional,
            lambda text: value_of(field, text),
        )
