"""What every column of every table in the archive means."""

from collections.abc import Iterable, Iterator, Sequence

from django.db import models
from django.utils.text import capfirst

from studio.transfer.parts import Column, is_person, related

HEADINGS = ("table", "column", "kind", "may be empty", "refers to", "choices", "meaning")
KINDS = {
    models.BooleanField: "yes or no",
    models.DateTimeField: "moment, UTC",
    models.DateField: "date",
    models.DecimalField: "number",
    models.IntegerField: "whole number",
    models.JSONField: "JSON",
}
README = """\
This archive holds one studio: its settings and all its rows, one table a file.

Every table is CSV as RFC 4180 has it, in UTF-8, with a row of headings. Numbers are written in full
with a point, dates as 2026-05-31, moments in UTC, yes and no as words. The column "id" numbers the
rows of a table; a column that ends in "_id" names a row of another table by that number. People are
named by their e-mail address. A text that a spreadsheet would take for a formula has an apostrophe
before it. What is no text, such as a picture, is a file in a folder named for its table, and its
name is the row's "id".

dictionary.csv says what every column means. The archive can be brought into an empty studio and
gives the same bottles, amounts, values and holds. Passwords, tokens, members and invitations are
not in it.
"""


def dictionary(
    files: Iterable[tuple[str, Sequence[Column]]],
) -> Iterator[tuple[str, str, str, bool, str, str, str]]:
    """Yield a row of `HEADINGS` for each column; ``files`` are pairs of file name and fields."""
    for name, fields in files:
        for field in fields:
            yield (
                name,
                field.name if is_person(field) else field.attname,
                _kind(field),
                bool(field.null or field.blank),
                _target(field),
                "; ".join(f"{value}: {label}" for value, label in field.flatchoices),
                _meaning(field),
            )


def _kind(field: Column) -> str:
    if is_person(field):
        return "e-mail address"
    if field.is_relation or field.primary_key:
        return "whole number"
    if isinstance(field, models.DecimalField):
        return f"number, {field.decimal_places} decimals"
    return next((word for kind, word in KINDS.items() if isinstance(field, kind)), "text")


def _target(field: Column) -> str:
    model = related(field)
    return "" if model is None or is_person(field) else str(model._meta.verbose_name)


def _meaning(field: Column) -> str:
    words = capfirst(str(field.verbose_name)) + "."
    return f"{words} {field.help_text}" if field.help_text else words
