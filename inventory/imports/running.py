"""A file from its bytes to the preview of every row, and from there into the studio."""

from django.db import IntegrityError, transaction

from inventory.imports.fates import Fate, ImportRefused, Preview
from studio.tables import TableError, csv_bytes, folded, read_table, xlsx_bytes


def preview(*, studio, sheet, body, limits=None):
    """Return the `Preview` of a file; changes nothing.

    Parameters
    ----------
    sheet : Register or Opening or Counts
        One of `SHEETS`.
    body : bytes
        A CSV or XLSX file.
    limits : studio.tables.Limits, optional

    Raises
    ------
    TableError
        If the file is no table, or lacks a column that the sheet cannot do without.
    """
    table = read_table(body, limits)
    notices = [*table.notices, *_about_headings(sheet, table)]
    return Preview(tuple(sheet.plan(studio, table)), tuple(notices))


def bring_in(*, studio, by, sheet, body, shown=None, file_name="", limits=None):
    """Bring a file in, all of it or nothing; returns the `Preview` as it came true.

    ``shown`` is the digest of the preview that a person agreed to. Raises `ImportRefused` when a
    row is wrong, or when the preview would now be another; `TableError` as `preview` does.
    """
    try:
        with transaction.atomic():
            plan = preview(studio=studio, sheet=sheet, body=body, limits=limits)
            _refuse_wrong(plan)
            if shown and shown != plan.digest:
                raise ImportRefused(
                    "Something in the studio has changed since this was shown. Look at the rows "
                    "again; nothing was brought in.",
                    plan,
                )
            todo = [row for row in plan.rows if row.fate in (Fate.NEW, Fate.CHANGED)]
            why = f"From {file_name}"[:200] if file_name else "From a file"
            sheet.write(studio, by, todo, why)
    except IntegrityError as error:
        raise ImportRefused(
            "Somebody added the same things at the same moment, so nothing was brought in. Look "
            "at the rows again.",
            preview(studio=studio, sheet=sheet, body=body, limits=limits),
        ) from error
    return plan


def template(*, studio, sheet, extension):
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


def _about_headings(sheet, table):
    """Say which columns are not read; refuse a file that lacks one that is needed."""
    known = {name for column in sheet.columns for name in column.names}
    there = {folded(heading) for heading in table.headings}
    missing = [
        column.heading
        for column in sheet.columns
        if column.name in sheet.key and not there & set(column.names)
    ]
    if missing:
        raise TableError(
            f"There is no column “{missing[0]}”. The first row must hold the headings; the "
            "template has them all."
        )
    unread = [text for text in table.headings if text and folded(text) not in known]
    if not unread:
        return []
    names = ", ".join(f"“{text}”" for text in unread)
    return [f"Not read, since there is no such column here: {names}."]


def _refuse_wrong(plan):
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
