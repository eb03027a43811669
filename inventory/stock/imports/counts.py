"""Counts: what is really left in each bottle, counted, measured or weighed."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db.models import QuerySet

from inventory.models import Bottle
from inventory.stock import ledger as stock
from inventory.stock.imports.columns import CellError, Column, number
from inventory.stock.imports.fates import Change, Fate, Fault, RowFate
from inventory.validators import checked_quantity
from inventory.words import amount
from studio.errors import StudioError
from studio.formfields import amount_field
from studio.models import Studio
from studio.sight import Sight
from studio.tables import Table, TableRow

BOTTLE = Column("bottle", "Bottle", "Its code.", True)
MATERIAL = Column("material", "Material", "Only to check that the code is the right one.")
LEFT = Column("left", "Left", "What is in it: 250 mL, 450 g, 12 or 0.")
GROSS = Column("gross_g", "Weight (g)", "Or what it weighs as it stands, bottle and all.")
PLACE = Column("place", "Place", "To find it by; not read.")


class CountSheet:
    name, title = "counts", "Counts"
    lede = "What is really left, by count, by measure or by weight. Bottles left empty stay."
    sights: tuple[Sight, ...] = ()
    key = ("bottle",)
    columns = (BOTTLE, MATERIAL, PLACE, LEFT, GROSS)

    def rests_on(self, studio: Studio) -> Iterable[QuerySet[Any]]:
        """Return the rows that decide what becomes of a file."""
        return studio.materials.all(), studio.bottles.all()

    def plan(self, studio: Studio, table: Table) -> Iterator[RowFate]:
        """Yield the fate of each row."""
        bottles = {row.code.casefold(): row for row in studio.bottles.select_related("material")}
        seen: dict[str, int] = {}
        for row in table.rows:
            code = BOTTLE.cell(row) or ""
            first = seen.setdefault(code.casefold(), row.line)
            if code and first != row.line:
                yield _wrong(row, code, BOTTLE, f"Line {first} counts this bottle already.")
            else:
                yield _fate(studio, table, row, code, bottles.get(code.casefold()))

    def write(self, studio: Studio, by: User, rows: Iterable[RowFate], why: str) -> None:
        """Set what is left, bottle by bottle."""
        for row in rows:
            bottle, quantity, gross_g = row.write
            if gross_g is None:
                stock.recount(studio=studio, by=by, bottle=bottle, quantity=quantity, why=why)
            else:
                stock.weigh_in(studio=studio, by=by, bottle=bottle, gross_g=gross_g, why=why)

    def template_rows(self, studio: Studio) -> list[list[str]]:
        """Return a row for each bottle on the shelf, in the order of places."""
        rows = studio.bottles.on_shelf().filter(remaining__gt=0).select_related("material")
        return [
            [row.code, row.material.name, row.place, "", ""]
            for row in rows.order_by("place", "material__name", "code")
        ]


def _wrong(row: TableRow, code: str, column: Column, sentence: str) -> RowFate:
    return RowFate(row.line, code, Fate.WRONG, faults=(Fault(column.heading, sentence),))


def _fate(studio: Studio, table: Table, row: TableRow, code: str, bottle: Bottle | None) -> RowFate:
    for column in CountSheet.columns:
        if column.fault(row):
            return _wrong(row, code, column, column.fault(row))
    if bottle is None:
        sentence = f"There is no bottle “{code}”." if code else "Give the code of the bottle."
        return _wrong(row, code, BOTTLE, sentence)
    name, left, weight = MATERIAL.cell(row), LEFT.cell(row), GROSS.cell(row)
    if name and name.casefold() != bottle.material.name.casefold():
        return _wrong(row, code, MATERIAL, f"Bottle {bottle.code} holds {bottle.material}.")
    if left and weight:
        return _wrong(row, code, GROSS, "Give what is left or the weight, not both.")
    if not left and not weight:
        return RowFate(row.line, code, Fate.SAME, note="Not counted.")
    try:
        gross_g = number(weight, table.decimal_comma) if weight else None
        if gross_g is None:
            quantity = _quantity(studio, bottle, left or "")
        else:
            quantity = stock.contents(bottle, gross_g)
    except (CellError, StudioError) as error:
        return _wrong(row, code, LEFT if left else GROSS, str(error))
    except ValidationError as error:
        return _wrong(row, code, LEFT, error.messages[0])
    if quantity == bottle.remaining:
        return RowFate(row.line, bottle.code, Fate.SAME)
    write = amount(bottle.material, bottle.remaining), amount(bottle.material, quantity)
    return RowFate(
        row.line,
        bottle.code,
        Fate.CHANGED,
        (Change(LEFT.heading, *write),),
        note=str(bottle.material),
        write=(bottle, quantity, gross_g),
    )


def _quantity(studio: Studio, bottle: Bottle, text: str) -> Decimal:
    read = amount_field(studio, bottle.material, allow_zero=True).clean(text)
    return checked_quantity(bottle.material, read)
