"""The columns of a sheet, and cells as what they mean."""

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils.text import capfirst

from studio.dates import SENTENCE, is_within
from studio.model_forms import StudioModelForm
from studio.money import MoneyError, parse_money
from studio.tables import TableRow, folded

NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)")
YES, NO = {"yes", "y", "true", "1", "x"}, {"no", "n", "false", "0", "-"}
LONGEST_NUMBER = 40


class CellError(ValueError):
    """A cell that cannot be read; its text is one sentence saying what is accepted."""


@dataclass(frozen=True)
class Column:
    """One column: its heading, what it holds, and the other headings it is known by."""

    name: str
    heading: str
    hint: str = ""
    required: bool = False
    label: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """Return the folded headings that a file may have for this column."""
        return tuple(folded(text) for text in (self.heading, self.name, self.label) if text)

    def cell(self, row: TableRow) -> str | None:
        """Return this column's text in a row; None when the file has no such column."""
        return next((row.cells[name] for name in self.names if name in row.cells), None)

    def fault(self, row: TableRow) -> str:
        """Return what the reader of the file found wrong with this cell, or nothing."""
        return next((row.faults[name] for name in self.names if name in row.faults), "")


def of_form_field(form_class: type[StudioModelForm], name: str, extra: str = "") -> Column:
    """Return the column of a form's field, headed as the model has it, its unit included.

    ``extra`` says more of what it holds.
    """
    field = form_class.base_fields[name]
    hints = [str(field.help_text), extra]
    choices = getattr(field, "choices", None)
    if choices is not None and not hasattr(field, "queryset"):
        hints.append("One of: " + ", ".join(str(label) for value, label in choices if value) + ".")
    return Column(
        name,
        capfirst(str(form_class._meta.model._meta.get_field(name).verbose_name)),
        " ".join(filter(None, hints)),
        field.required and field.initial is None,
        str(field.label or ""),
    )


def number(text: str, decimal_comma: bool = False) -> Decimal:
    """Read a plain number; exponents, signs of currency and words are refused."""
    plain = re.sub(r"[\s\u00a0\u202f]", "", text)
    if decimal_comma and "." not in plain:
        plain = plain.replace(",", ".")
    if len(plain) > LONGEST_NUMBER or not NUMBER.fullmatch(plain):
        raise CellError("Write a plain number, such as 12.5.")
    return Decimal(plain)


def price(text: str, currency: str, decimal_comma: bool = False) -> Decimal:
    """Read an amount of money; a plain number is taken as it is, to its last place."""
    try:
        return number(text, decimal_comma)
    except CellError:
        pass
    try:
        return parse_money(text, currency)
    except MoneyError as error:
        raise CellError(str(error)) from error


def yes_or_no(text: str) -> bool:
    """Read yes or no."""
    if text.casefold() in YES:
        return True
    if text.casefold() in NO:
        return False
    raise CellError("Write yes or no.")


def day(text: str) -> date:
    """Read a date; only the order that everybody reads alike."""
    try:
        date_read = date.fromisoformat(text)
    except ValueError:
        raise CellError("Write the date as year, month and day, such as 2026-05-31.") from None
    if not is_within(date_read):
        raise CellError(SENTENCE)
    return date_read


def choice(text: str, choices: Any) -> Any:
    """Return the value that a text names, by the value itself or by its words."""
    for value, label in choices:
        if value and folded(text) in (folded(str(value)), folded(str(label))):
            return value
    names = ", ".join(str(label) for value, label in choices if value)
    raise CellError(f"Choose one of: {names}.")
