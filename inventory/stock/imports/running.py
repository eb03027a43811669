"""A file from its bytes to the preview of every row, and from there into the studio.

Reading a file and planning its rows takes seconds, so that is done before anything is locked. What
a plan rests on is compared under the lock; only where somebody changed it meanwhile is it made
anew there.
"""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Protocol

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from inventory.stock.imports.columns import Column
from inventory.stock.imports.fates import Fate, ImportRefused, Preview, RowFate
from studio.models import Studio
from studio.sight import Sight
from studio.tables import Limits, Table, TableError, csv_bytes, folded, read_table, xlsx_bytes
from studio.text import shortened

CHUNK = 2_000


class ImportSheet(Protocol):
    """One kind of file: its columns, what becomes of its rows, and how they are written."""

    name: str
    title: str
    lede: str

    @property
    def sights(self) -> tuple[Sight, ...]: ...

    @property
    def key(self) -> tuple[str, ...]: ...

    @property
    def columns(self) -> tuple[Column, ...]: ...

    def rests_on(self, studio: Studio) -> Iterable[QuerySet[Any]]: ...

    def plan(self, studio: Studio, table: Table) -> Iterable[RowFate]: ...

    def write(self, studio: Studio, by: User, rows: Iterable[RowFate], why: str) -> None: ...

    def template_rows(self, studio: Studio) -> list[list[str]]: ...


@dataclass(frozen=True)
class Ready:
    """A file that was read, what would become of it, and a digest of what that rests on."""

    sheet: ImportSheet
    table: Table
    plan: Preview
    facts: str


def preview(
    *, studio: Studio, sheet: ImportSheet, body: bytes, limits: Limits | None = None
) -> Preview:
    """Return the `Preview` of a file; changes nothing.

    Parameters
    ----------
    sheet : Register or Opening or CountSheet
        One of `SHEETS`.
    body : bytes
        A CSV or XLSX file.
    limits : studio.tables.Limits, optional

    Raises
    ------
    TableError
        If the file is no table, or lacks a column that the sheet cannot do without.
    """
    return _planned(studio, sheet, read_table(body, limits))


def made_ready(
    *, studio: Studio, sheet: ImportSheet, body: bytes, limits: Limits | None = None
) -> Ready:
    """Return a file as `Ready` to be carried out, as `preview` does; outside any transaction."""
    table = read_table(body, limits)
    facts = facts_of(studio, sheet.rests_on(studio))
    return Ready(sheet, table, _planned(studio, sheet, table), facts)


def bring_in(
    *,
    studio: Studio,
    by: User,
    sheet: ImportSheet,
    body: bytes,
    digest: str | None = None,
    file_name: str = "",
    limits: Limits | None = None,
) -> Preview:
    """Read a file and bring it in, as `made_ready` and `carry_out`."""
    ready = made_ready(studio=studio, sheet=sheet, body=body, limits=limits)
    return carry_out(studio=studio, by=by, ready=ready, digest=digest, file_name=file_name)


def carry_out(
    *, studio: Studio, by: User, ready: Ready, digest: str | None = None, file_name: str = ""
) -> Preview:
    """Bring a file in, all of it or nothing; returns the `Preview` as it came true.

    ``digest`` is that of the preview that a person agreed to. Raises `ImportRefused` when a
    row is wrong, or when the preview would now be another.
    """
    sheet = ready.sheet
    _refuse_wrong(ready.plan)
    try:
        with transaction.atomic():
            plan = ready.plan
            if facts_of(studio, sheet.rests_on(studio)) != ready.facts:
                plan = _planned(studio, sheet, ready.table)
                _refuse_wrong(plan)
            if digest and digest != plan.digest:
                raise ImportRefused(
                    "Something in the studio has changed since this was shown. Look at the rows "
                    "again; nothing was brought in.",
                    plan,
                )
            todo = [row for row in plan.rows if row.fate in (Fate.NEW, Fate.CHANGED)]
            why = shortened(f"From {file_name}", 200) if file_name else "From a file"
            sheet.write(studio, by, todo, why)
    except IntegrityError as error:
        raise ImportRefused(
            "Somebody added the same things at the same moment, so nothing was brought in. Look "
            "at the rows again.",
            _planned(studio, sheet, ready.table),
        ) from error
    return plan


def _planned(studio: Studio, sheet: ImportSheet, table: Table) -> Preview:
    notices = [*table.notices, *_about_headings(sheet, table)]
    return Preview(tuple(sheet.plan(studio, table)), tuple(notices))


def facts_of(studio: Studio, rests_on: Iterable[QuerySet[Any]]) -> str:
    """Return what tells the rows that a plan rests on from what they were before."""
    digest = hashlib.sha256()
    for rows in (Studio.objects.filter(pk=studio.pk), *rests_on):
        for values in rows.order_by("pk").values_list().iterator(chunk_size=CHUNK):
            digest.update(repr(values).encode())
        digest.update(b";")
    return digest.hexdigest()


def template(*, studio: Studio, sheet: ImportSheet, extension: str) -> bytes:
    """Return an empty file of a sheet to fill in; for counts, with a row for each bottle."""
    headings = [column.heading for column in sheet.columns]
    rows = sheet.template_rows(studio)
    if extension == "csv":
        return csv_bytes(headings, rows)
    notes = [
        (column.heading, ("Always needed. " if column.required else "") + column.hint)
        for column in sheet.columns
    ]
    return xlsx_bytes(headings, rows, sheet.title, notes)


def _about_headings(sheet: ImportSheet, table: Table) -> list[str]:
    """Say which columns are not read; refuse a file that lacks one that is needed."""
    known_names = {name for column in sheet.columns for name in column.names}
    headings = {folded(heading) for heading in table.headings}
    missing = [
        column.heading
        for column in sheet.columns
        if column.name in sheet.key and not headings & set(column.names)
    ]
    if missing:
        raise TableError(
            f"There is no column “{missing[0]}”. The first row must hold the headings; the "
            "template has them all."
        )
    unread = [text for text in table.headings if text and folded(text) not in known_names]
    if not unread:
        return []
    names = ", ".join(f"“{text}”" for text in unread)
    return [f"Not read, since there is no such column here: {names}."]


def _refuse_wrong(plan: Preview) -> None:
    wrong = [row for row in plan.rows if row.fate == Fate.WRONG]
    if not wrong:
        return
    fault = wrong[0].faults[0]
    where = f"line {wrong[0].line}" + (f", {fault.heading}" if fault.heading else "")
    raise ImportRefused(
        f"{len(wrong)} of {len(plan.rows)} rows are wrong, so nothing was brought in. The first: "
        f"{where}: {fault.sentence}",
        plan,
    )
