"""A studio into an archive: one zip of CSV tables, with a dictionary of their columns."""

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import IO, Any, TextIO

from django.db import connection, transaction

from studio.models import Studio
from studio.tables import write_csv
from studio.transfer.dictionary import HEADINGS, README, dictionary
from studio.transfer.parts import ArchivePart, Column, cell, lookup

SETTINGS_FILE = "studio.csv"
BESIDES = ("README.txt", "dictionary.csv")  # for people to read
CHUNK = 2_000
# What is of this database alone: an archive of an example becomes somebody's own studio.
STAYS_HERE = ("id", "created_at", "is_example", "first_steps_left_at")
FEW = 10  # rows with the bytes of a picture each
# The date that zip gives to members when none is told, so that the same studio is the same bytes.
NO_DATE = (1980, 1, 1, 0, 0, 0)


def archive_studio(studio: Studio, parts: Sequence[ArchivePart], stream: IO[bytes]) -> None:
    """Write a studio to a binary stream, as it is at one moment.

    One query a part, and one more for the files beside its table.

    Parameters
    ----------
    parts : sequence of ArchivePart
        In the order in which they can be written back.
    """
    with _one_moment():
        studio = Studio.objects.get(pk=studio.pk)
        with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
            with _member(archive, BESIDES[0]) as member:
                member.write(README)
            with _member(archive, BESIDES[1]) as member:
                files = [(SETTINGS_FILE, settings_fields())]
                files += [(part.file, part.columns) for part in parts]
                write_csv(member, HEADINGS, dictionary(files))
            with _member(archive, SETTINGS_FILE) as member:
                fields = settings_fields()
                values = [getattr(studio, field.attname) for field in fields]
                _write(member, fields, [values])
            for part in parts:
                with _member(archive, part.file) as member:
                    fields = part.columns
                    rows = part.rows(studio).values_list(*(lookup(field) for field in fields))
                    _write(member, fields, rows.iterator(chunk_size=CHUNK))
                if part.bytes_of:
                    rows = part.rows(studio).values_list("pk", part.bytes_of)
                    for key, body in rows.iterator(chunk_size=FEW):
                        archive.writestr(zipfile.ZipInfo(part.file_of(key), NO_DATE), bytes(body))


def settings_fields() -> list[Column]:
    """Return the fields of the studio that an archive carries."""
    return [field for field in Studio._meta.concrete_fields if field.name not in STAYS_HERE]


@contextmanager
def _one_moment() -> Iterator[None]:
    """See one moment throughout, while others go on writing.

    On SQLite a transaction that only reads must not begin as our writers do, which wait for each
    other.
    """
    database: Any = connection
    mode = getattr(database, "transaction_mode", None)
    if mode and not database.in_atomic_block:
        database.transaction_mode = "DEFERRED"
    try:
        with transaction.atomic():
            if database.vendor == "postgresql" and not database.savepoint_ids:
                with database.cursor() as cursor:
                    cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            yield
    finally:
        if mode:
            database.transaction_mode = mode


def _member(archive: zipfile.ZipFile, name: str) -> io.TextIOWrapper:
    info = zipfile.ZipInfo(name, NO_DATE)
    info.compress_type = zipfile.ZIP_DEFLATED
    raw = archive.open(info, "w", force_zip64=True)
    return io.TextIOWrapper(raw, "utf-8", newline="")


def _write(member: TextIO, fields: Sequence[Column], rows: Iterable[Sequence[object]]) -> None:
    writer = csv.writer(member, lineterminator="\r\n")
    writer.writerow([lookup(field).removesuffix("__email") for field in fields])
    writer.writerows(
        [cell(field, value) for field, value in zip(fields, values, strict=True)] for values in rows
    )
