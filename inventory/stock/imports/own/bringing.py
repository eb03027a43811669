"""The good rows of a sheet, written in one transaction."""

import zoneinfo
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from decimal import Decimal
from typing import TypeVar

from django.contrib.auth.models import User
from django.db import IntegrityError, models, transaction
from django.utils import timezone

from inventory.models import KnownSheet, Material, Movement, Pack, Supplier
from inventory.stock import ledger as stock
from inventory.stock.imports.own.book import Book, folded, rests_on
from inventory.stock.imports.own.looking import SheetReady, digest_of, known_before
from inventory.stock.imports.own.mending import sheet_to_mend
from inventory.stock.imports.own.planning import SHELF, RowPlan, material_of, planned
from inventory.stock.imports.running import facts_of
from inventory.stock.sheets import SheetRow
from inventory.validators import checked_price
from studio.errors import StudioError
from studio.models import Studio
from studio.text import shortened

Row = TypeVar("Row", bound=models.Model)
# What is true of one sheet and perhaps not of the next.
ASKED_ANEW = {SHELF, "unpriced"}


class SheetRefused(StudioError):
    """A sheet of which nothing was brought in."""

    code = "sheet_refused"


@dataclass(frozen=True)
class BroughtIn:
    """How many rows came in, how many were here already, and the others as an XLSX file, if any."""

    rows: int
    same: int
    others: int
    to_mend: bytes | None

    @property
    def sentence(self) -> str:
        said = f"{self.rows} row{'' if self.rows == 1 else 's'} brought in"
        said += f", {self.same} here already" if self.same else ""
        if self.others:
            said += f"; {self.others} left out. The sheet of them says what to mend"
        return f"{said}."


def bring_in_good(
    *, studio: Studio, by: User, ready: SheetReady, digest: str | None = None, file_name: str = ""
) -> BroughtIn:
    """Bring in the good rows of a sheet, all of them or none, and give the others back.

    Parameters
    ----------
    ready : SheetReady
        The sheet as `look` understood it
    digest : str, optional
        That of what a person agreed to
    file_name : str, optional
        What the file was called

    Raises
    ------
    SheetRefused
        If there is nothing good in it, or something in the studio has changed since.
    """
    try:
        with transaction.atomic():
            if facts_of(studio, rests_on(studio)) != ready.facts:
                ready = replace(ready, plan=planned(studio, ready.reading, ready.answers))
            if digest and digest != ready.digest:
                raise SheetRefused(
                    "Something in the studio, or in your answers, has changed since this was "
                    "shown. Look at the rows again; nothing was brought in."
                )
            if not ready.good:
                raise SheetRefused("There is nothing in this sheet that can be brought in yet.")
            why = shortened(f"From {file_name}", 200) if file_name else "From a sheet"
            _Writer(studio, by, why).write(ready.good)
            _remember(studio, ready)
    except IntegrityError as error:
        raise SheetRefused(
            "Somebody added the same things at the same moment, so nothing was brought in. Look "
            "at the rows again."
        ) from error
    others = len(ready.others)
    to_mend = sheet_to_mend(ready) if others else None
    return BroughtIn(len(ready.good), ready.counts["same"], others, to_mend)


def _remember(studio: Studio, ready: SheetReady) -> None:
    """Keep how the columns were matched and what was answered, for the same headings next time."""
    key = ready.reading.heading_key
    if not key:
        return
    known = known_before(studio=studio, headings=key) or KnownSheet(
        studio=studio, digest=digest_of(key), headings=list(key)
    )
    columns = ready.reading.layout.columns
    known.columns = {str(place): role for place, role in columns.items() if place < len(key)}
    known.answers = {key: said for key, said in ready.answers.items() if key not in ASKED_ANEW}
    known.used_at = timezone.now()
    known.save()


class _Writer:
    def __init__(self, studio: Studio, by: User, why: str) -> None:
        self.studio, self.by, self.why = studio, by, why
        self.book = Book(studio)

    def write(self, plans: Sequence[RowPlan]) -> None:
        rows = [plan.row for plan in plans]
        self._add_materials(rows)
        self._add_suppliers(rows)
        self._add_packs(rows)
        self._open([plan.row for plan in plans if plan.puts_on_shelf])

    def _add_materials(self, rows: Sequence[SheetRow]) -> None:
        new: dict[str, Material] = {}
        for row in rows:
            if folded(row.name) not in self.book.materials:
                new.setdefault(folded(row.name), material_of(self.studio, row))
        _create(list(new.values()))
        self.book.materials |= new

    def _add_suppliers(self, rows: Sequence[SheetRow]) -> None:
        new = {
            folded(row.supplier): Supplier(studio=self.studio, name=row.supplier)
            for row in reversed(rows)
            if row.supplier and folded(row.supplier) not in self.book.suppliers
        }
        _create(list(new.values()))
        self.book.suppliers |= new

    def _add_packs(self, rows: Sequence[SheetRow]) -> None:
        new: dict[tuple[int, int, Decimal], Pack] = {}
        changed: list[Pack] = []
        for row in rows:
            if not row.supplier or row.pack_size is None or row.price is None:
                continue
            supplier = self.book.suppliers[folded(row.supplier)]
            material = self.book.materials[folded(row.name)]
            key = (supplier.pk, material.pk, row.pack_size)
            price, there = checked_price(row.price), self.book.packs.get(key)
            if there is None:
                new[key] = Pack(
                    studio=self.studio,
                    supplier=supplier,
                    material=material,
                    size=row.pack_size,
                    label=row.pack_label,
                    supplier_code=row.supplier_code,
                    price=price,
                )
            elif there.price != price:
                there.price = price
                changed.append(there)
        _create(list(new.values()))
        for pack in changed:
            pack.save(update_fields=["price"])
        self.book.packs |= new

    def _open(self, rows: Sequence[SheetRow]) -> None:
        """Put the bottles on the shelf as opening stock, one entry for each day they came in."""
        today = self.studio.today()
        by_day: defaultdict[date, list[stock.Receipt]] = defaultdict(list)
        for row in rows:
            by_day[row.received or row.opened or today] += self._receipts(row)
        for day, receipts in sorted(by_day.items()):
            noon = datetime.combine(day, time(12), zoneinfo.ZoneInfo(self.studio.time_zone))
            stock.receive(
                studio=self.studio,
                by=self.by,
                receipts=receipts,
                kind=Movement.Kind.OPENING,
                happened_at=None if day == today else noon,
                received_on=day,
                why=self.why,
                purpose="Opening stock",
            )

    def _receipts(self, row: SheetRow) -> list[stock.Receipt]:
        material = self.book.materials[folded(row.name)]
        supplier, pack = self.book.suppliers.get(folded(row.supplier)), None
        if supplier is not None and row.pack_size is not None:
            pack = self.book.packs.get((supplier.pk, material.pk, row.pack_size))
        return [
            stock.Receipt(
                material=material,
                quantity=one.quantity,
                value=one.value or Decimal(0),
                pack=pack,
                capacity=one.capacity,
                place=row.place,
                opened_on=row.opened,
                expires_on=row.expires,
                code=row.code or None,
            ).checked()
            for one in row.containers
        ]


def _create(rows: list[Row]) -> None:
    """Write new rows down in a few queries; the last by itself, since others listen to that."""
    if rows:
        type(rows[0])._default_manager.bulk_create(rows[:-1])
        rows[-1].save()
