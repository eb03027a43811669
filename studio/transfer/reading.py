"""An archive into an empty studio, all of it or nothing."""

import csv
import io
import zipfile

from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction

from studio.access import members_of
from studio.models import Studio
from studio.transfer.parts import TransferRefused, is_person, lookup, value_of
from studio.transfer.writing import SETTINGS_FILE, settings_fields

LARGEST_UNPACKED = 2_000_000_000
MOST_FILES = 20_000
LARGEST_FILE = 20_000_000  # beside a table
LONGEST_CELL = 1_000_000
BATCH, FEW = 500, 20  # rows at a time; with files beside them
csv.field_size_limit(LONGEST_CELL)  # a quote's inputs are long
NOT_EMPTY = (
    "A whole studio can only be brought into an empty one, and this one has {what}. Open a new "
    "studio and bring it in there."
)


def restore_studio(studio, parts, stream, *, proof):
    """Fill an empty studio from an archive; returns how many rows came in.

    Parameters
    ----------
    parts : sequence of Part
        Each after those that its rows name.
    stream : binary file
        What `archive_studio` wrote.
    proof : callable
        Takes the studio once it is filled and returns sentences of what does not add up.

    Raises
    ------
    TransferRefused
        If the studio is not empty, the archive is not whole, or its books do not add up. Rows are
        given new keys; what a row names must be in the archive too.
    """
    try:
        with transaction.atomic(), zipfile.ZipFile(stream) as archive:
            studio = Studio.objects.select_for_update().get(pk=studio.pk)
            _refuse_unless_empty(studio, parts)
            _refuse_bomb(archive)
            count = _Restoring(studio, archive).run(parts)
            wrong = list(proof(studio))
            if wrong:
                raise TransferRefused(f"The archive's books do not add up. {wrong[0]}")
            return count
    # zipfile's own: NotImplementedError for a way of packing it does not know, RuntimeError for a
    # file that asks for a password.
    except (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError) as error:
        raise TransferRefused(
            "This is not a whole archive of a studio. Choose the .zip file as it was downloaded."
        ) from error
    except UnicodeDecodeError as error:
        raise TransferRefused("A table of the archive is not in UTF-8.") from error


def _refuse_unless_empty(studio, parts):
    for part in parts:
        if not part.is_given and part.rows(studio).exists():
            what = part.model._meta.verbose_name_plural
            raise TransferRefused(NOT_EMPTY.format(what=what))
    for part in reversed(parts):
        if part.is_given:
            part.rows(studio).delete()


def _refuse_bomb(archive):
    members = archive.infolist()
    if len(members) > MOST_FILES or sum(one.file_size for one in members) > LARGEST_UNPACKED:
        raise TransferRefused(
            f"The archive unpacks to more than {LARGEST_UNPACKED // 1_000_000} MB, or has too many "
            "files in it."
        )


class _Restoring:
    """One run: the new key of every row that has been written so far."""

    def __init__(self, studio, archive):
        self.studio, self.archive = studio, archive
        self.keys = {}
        self.people = {one.user.email: one.user_id for one in members_of(studio) if one.user.email}

    def run(self, parts):
        self._settings()
        return sum(self._part(part) for part in parts)

    def _settings(self):
        fields = settings_fields()
        rows = list(self._rows(SETTINGS_FILE, fields))
        if len(rows) != 1:
            raise TransferRefused(f"{SETTINGS_FILE} must have one row.")
        for field in fields:
            if field.attname in rows[0][1]:
                value = self._value(SETTINGS_FILE, *rows[0], field)
                setattr(self.studio, field.attname, value)
        self.studio.save()

    def _part(self, part):
        keys = self.keys[part.model] = {}
        pending, total = {}, 0

        def write():
            try:
                part.model._base_manager.bulk_create(pending.values())
            except (DatabaseError, OverflowError) as error:
                raise TransferRefused(
                    f"Rows of {part.file} break what must always hold: two alike, or amounts that "
                    "cannot be."
                ) from error
            keys.update((old, row.pk) for old, row in pending.items())
            pending.clear()

        fields, batch = part.columns, FEW if part.bytes_of else BATCH
        points_home = [field.attname for field in fields if field.related_model is part.model]
        for line, cells in self._rows(part.file, fields):
            old = cells.get("id", "")
            if not old or old in keys or old in pending:
                self._refuse(part.file, line, "id", "Every row needs a number of its own.")
            if len(pending) == batch or any(cells.get(name) in pending for name in points_home):
                write()
            pending[old] = self._row(part, fields, line, cells)
            total += 1
        write()
        return total

    def _row(self, part, fields, line, cells):
        row = part.model()
        if part.owner == "studio":
            row.studio = self.studio
        for field in fields:
            name = lookup(field).removesuffix("__email")
            if field.primary_key:
                continue
            if name not in cells:
                if not field.has_default() and not field.null and not field.blank:
                    self._refuse(part.file, line, name, "This column is missing.")
                continue
            setattr(row, field.attname, self._value(part.file, line, cells, field))
        if part.bytes_of:
            setattr(row, part.bytes_of, self._file(part, line, cells["id"]))
        if part.adapt:
            part.adapt(row, self.keys)
        return row

    def _file(self, part, line, old):
        """Return the bytes that go with a row."""
        try:
            with self.archive.open(part.file_of(old)) as member:
                body = member.read(LARGEST_FILE + 1)
        except KeyError:
            self._refuse(part.file, line, "id", "The file that goes with it is missing.")
        if len(body) > LARGEST_FILE:
            self._refuse(part.file, line, "id", "The file that goes with it is too large.")
        return body

    def _value(self, file, line, cells, field):
        name = lookup(field).removesuffix("__email")
        text = cells[name]
        if is_person(field):
            return self.people.get(text)
        if field.is_relation:
            return self._key(file, line, field, text)
        try:
            return value_of(field, text)
        except ValidationError as error:
            self._refuse(file, line, name, error.messages[0])

    def _key(self, file, line, field, text):
        if not text and field.null:
            return None
        found = self.keys.get(field.related_model, {}).get(text)
        if found is None:
            word = field.related_model._meta.verbose_name
            self._refuse(file, line, field.attname, f"There is no {word} “{text[:20]}” in it.")
        return found

    def _rows(self, file, fields):
        """Yield (line, {column: text}) of a table; one that the archive lacks has no rows."""
        try:
            raw = self.archive.open(file)
        except KeyError:
            if file == SETTINGS_FILE:
                raise TransferRefused(f"There is no {SETTINGS_FILE} in the archive.") from None
            return
        known = {lookup(field).removesuffix("__email") for field in fields}
        with io.TextIOWrapper(raw, "utf-8-sig", newline="") as text:
            reader = csv.reader(text, strict=True)
            line = 1
            try:
                headings = next(reader, [])
                strange = [name for name in headings if name not in known]
                if strange or len(set(headings)) < len(headings):
                    column = strange[0] if strange else "id"
                    self._refuse(file, 1, column, "Such a column is not known, or stands twice.")
                line = reader.line_num + 1
                for texts in reader:
                    if len(texts) != len(headings) or any("\0" in one for one in texts):
                        self._refuse(file, line, "", "This row is not whole.")
                    yield line, dict(zip(headings, texts, strict=True))
                    line = reader.line_num + 1
            except csv.Error as error:
                raise TransferRefused(f"{file}, line {line}: this cannot be read.") from error

    def _refuse(self, file, line, column, sentence):
        where = f"{file}, line {line}" + (f", {column}" if column else "")
        raise TransferRefused(f"{where}: {sentence} Nothing was brought in.")
