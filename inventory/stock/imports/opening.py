"""Opening stock: the bottles that were on the shelf before, each with a short code of its own.

The code makes it safe to repeat: a bottle that is there with the same content is left alone.
"""

import zoneinfo
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, TypeVar

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db.models import QuerySet

from inventory.models import Bottle, Material, Movement
from inventory.stock import ledger as stock
from inventory.stock.imports.columns import CellError, Column, day, number, price
from inventory.stock.imports.fates import Fate, Fault, RowFate
from inventory.validators import checked_quantity, checked_value
from inventory.words import amount
from studio.errors import StudioError
from studio.formfields import amount_field
from studio.models import Studio
from studio.sight import COSTS, Sight
from studio.tables import Table, TableRow
from studio.text import shortened

BOTTLE = Column("bottle", "Bottle", "Your own short code, up to 12 letters and digits.", True)
MATERIAL = Column("material", "Material", "Its name, as on your list of materials.", True)
QUANTITY = Column("quantity", "Quantity", "What is in it: 250 mL, 8 fl oz, 450 g or 12.", True)
VALUE = Column("value", "Worth", "What that much cost you, all of it together.", True)
CAPACITY = Column("capacity", "Holds when full", "Where it is part used; in the same way.")
PLACE = Column("place", "Place", "Where it stands.")
RECEIVED = Column("received_on", "Received on", "Such as 2026-05-31; today when left empty.")
OPENED = Column("opened_on", "Opened on", "Such as 2026-05-31.")
EXPIRES = Column("expires_on", "Expires on", "Such as 2027-05-31.")
TARE = Column("tare_g", "Empty bottle (g)", "Its weight, where it is not the material's own.")
DENSITY = Column("density_g_per_ml", "Density (g/mL)", "Where it is not the material's own.")
DATES = (RECEIVED, OPENED, EXPIRES)
Kind = Movement.Kind


class Opening:
    name, title = "opening-stock", "Opening stock"
    lede = "Bottles, tubs and boxes that were on the shelf before, part used or full."
    sights: tuple[Sight, ...] = (COSTS,)
    key = ("bottle", "material", "quantity", "value")
    columns = (BOTTLE, MATERIAL, QUANTITY, VALUE, CAPACITY, PLACE, *DATES, TARE, DENSITY)

    def rests_on(self, studio: Studio) -> Iterable[QuerySet[Any]]:
        """Return the rows that decide what becomes of a file."""
        opened = studio.movements.filter(kind=Kind.OPENING)
        return studio.materials.all(), studio.bottles.all(), opened

    def plan(self, studio: Studio, table: Table) -> Iterator[RowFate]:
        """Yield the fate of each row."""
        materials = {row.name.casefold(): row for row in studio.materials.all()}
        bottles = {row.code.casefold(): row for row in studio.bottles.select_related("material")}
        opened = _opening_movements(studio)
        seen: dict[str, int] = {}
        for row in table.rows:
            read = _Reader(studio, table, row)
            code = read.code()
            first = seen.setdefault(code.casefold(), row.line)
            if code and first != row.line:
                read.fault(BOTTLE, f"Line {first} has the code “{code}” already.")
            receipt = read.receipt(code, materials)
            if receipt is None:
                yield RowFate(row.line, code, Fate.WRONG, faults=tuple(read.faults))
                continue
            bottle = bottles.get(code.casefold())
            if bottle is None:
                note = f"{amount(receipt.material, receipt.quantity)} of {receipt.material}"
                write = (receipt, read.received_on)
                yield RowFate(row.line, code, Fate.NEW, note=note, write=write)
            else:
                yield _against(row, bottle, receipt, opened.get(bottle.pk))

    def write(self, studio: Studio, by: User, rows: Iterable[RowFate], why: str) -> None:
        """Put the new bottles on the shelf, one entry for each day they came in."""
        by_day: defaultdict[date, list[stock.Receipt]] = defaultdict(list)
        for row in rows:
            receipt, received_on = row.write
            by_day[received_on].append(receipt)
        today = studio.today()
        for received_on, receipts in sorted(by_day.items()):
            noon = datetime.combine(received_on, time(12), zoneinfo.ZoneInfo(studio.time_zone))
            stock.receive(
                studio=studio,
                by=by,
                receipts=receipts,
                kind=Kind.OPENING,
                happened_at=None if received_on == today else noon,
                received_on=received_on,
                why=why,
                purpose="Opening stock",
            )

    def template_rows(self, studio: Studio) -> list[list[str]]:
        return []


def _opening_movements(studio: Studio) -> dict[int, tuple[Decimal, Decimal, int | None]]:
    """Return {bottle: (amount, value, whether it was undone)} of what bottles began with."""
    rows = studio.movements.filter(kind=Kind.OPENING).values_list(
        "bottle", "quantity", "value", "entry__reversed_by"
    )
    return {bottle: (quantity, value, undone) for bottle, quantity, value, undone in rows}


def _against(
    row: TableRow,
    bottle: Bottle,
    receipt: stock.Receipt,
    began: tuple[Decimal, Decimal, int | None] | None,
) -> RowFate:
    """Compare a row with the bottle that has its code."""
    is_same = bottle.material_id == receipt.material.pk
    if began and is_same and began == (receipt.quantity, receipt.value, None):
        return RowFate(row.line, bottle.code, Fate.SAME)
    if began and began[2]:
        sentence = f"Bottle {bottle.code} was taken back. Give this one another code."
    else:
        sentence = (
            f"There is a bottle {bottle.code} already, of {bottle.material}. Count it to set what "
            "is left, or give this one another code."
        )
    return RowFate(row.line, bottle.code, Fate.WRONG, faults=(Fault(BOTTLE.heading, sentence),))


Read = TypeVar("Read")


class _Reader:
    """Reads the cells of one row, collecting what is wrong with them."""

    def __init__(self, studio: Studio, table: Table, row: TableRow) -> None:
        self.studio, self.table, self.row = studio, table, row
        self.received_on = studio.today()
        self.faults = [
            Fault(column.heading, column.fault(row))
            for column in Opening.columns
            if column.fault(row)
        ]

    def fault(self, column: Column, sentence: str) -> None:
        if column.heading not in {fault.heading for fault in self.faults}:
            self.faults.append(Fault(column.heading, sentence))

    def text(self, column: Column) -> str:
        text = column.cell(self.row) or ""
        if column.required and not text:
            self.fault(column, "This cannot be left empty.")
        return text

    def read(self, column: Column, reader: Callable[[str], Read]) -> Read | None:
        """Return a cell through its reader; None when it is empty or wrong."""
        text = self.text(column)
        if not text:
            return None
        try:
            return reader(text)
        except (CellError, StudioError) as error:
            self.fault(column, str(error))
        except ValidationError as error:
            self.fault(column, error.messages[0])
        return None

    def code(self) -> str:
        code = self.text(BOTTLE)
        if code and not (len(code) <= 12 and code.replace("-", "").replace("_", "").isalnum()):
            self.fault(BOTTLE, "Use up to 12 letters, digits and hyphens.")
        elif not code.isascii():
            self.fault(BOTTLE, "Use the letters a to z, digits and hyphens.")
        return shortened(code, 40)  # so much of what is refused is shown

    def amount(self, column: Column, material: Material | None) -> Decimal | None:
        """Return an amount of the material; None when it is empty or wrong."""
        if material is None:
            self.text(column)
            return None
        field = amount_field(self.studio, material)
        return self.read(
            column, lambda text: checked_quantity(material, field.clean(text), above_zero=True)
        )

    def receipt(self, code: str, materials: Mapping[str, Material]) -> stock.Receipt | None:
        """Return the `stock.Receipt` of the row; None when anything is wrong."""
        name = self.text(MATERIAL)
        material = materials.get(name.casefold())
        if name and material is None:
            self.fault(MATERIAL, f"There is no material “{name}” yet. Add it first.")
        quantity, capacity = (self.amount(column, material) for column in (QUANTITY, CAPACITY))
        comma, currency = self.table.decimal_comma, self.studio.currency
        value = self.read(VALUE, lambda text: checked_value(price(text, currency, comma)))
        tare, density = (self.read(column, self._measure) for column in (TARE, DENSITY))
        place = self.read(PLACE, self._place)
        received_on, opened_on, expires_on = (self.read(column, day) for column in DATES)
        self._dates(received_on, opened_on)
        if self.faults or material is None or quantity is None:
            return None
        try:
            return stock.Receipt(
                material=material,
                quantity=quantity,
                value=value,
                capacity=capacity,
                place=place or "",
                opened_on=opened_on,
                expires_on=expires_on,
                tare_g=tare,
                density_g_per_ml=density,
                code=code,
            ).checked()
        except StudioError as error:
            self.fault(MATERIAL, str(error))
            return None

    def _place(self, text: str) -> str:
        """Read a place as the bottle keeps it."""
        place: str = Bottle._meta.get_field("place").clean(text, None)
        return place

    def _measure(self, text: str) -> Decimal:
        """Read a tare or a density as the bottle's own form would."""
        value = number(text, self.table.decimal_comma)
        if not 0 < value < 10_000:
            raise CellError("Give a number above 0 and below 10,000.")
        return value

    def _dates(self, received_on: date | None, opened_on: date | None) -> None:
        today = self.studio.today()
        for column, date_given in ((RECEIVED, received_on), (OPENED, opened_on)):
            if date_given and date_given > today:
                self.fault(column, "This is still to come. Give the day it was.")
        if received_on and opened_on and opened_on < received_on:
            self.fault(OPENED, "It came in later than that. Give the day it was opened.")
        self.received_on = received_on or min(opened_on or today, today)
