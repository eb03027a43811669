"""What becomes of each row of a sheet in this studio, before anything is written."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db.models import Model

from inventory.models import Bottle, Material, Pack, Supplier
from inventory.stock.imports.own.book import Book, folded
from inventory.stock.sheets import Question, Remark, SheetReading, SheetRow
from inventory.stock.shelf.bottles import CODE
from inventory.validators import checked_price, checked_quantity, checked_value
from inventory.words import amount
from studio.dates import SENTENCE, is_within
from studio.errors import StudioError
from studio.models import Studio
from studio.money import format_money

GOOD, SAME, ASK, WRONG = "good", "same", "ask", "wrong"
SHELF = "shelf"
SHELF_QUESTION = (
    "Some of this is on the shelf already. Is what the sheet has more of it, or the same?",
    (("more", "More: put it beside what is there"), ("same", "The same: leave the shelf alone")),
)


@dataclass(frozen=True)
class RowPlan:
    """One row, its outcome (good, same, ask or wrong), what is said against it, and what it brings.

    ``puts_on_shelf`` tells whether its bottles come in.
    """

    row: SheetRow
    outcome: str
    remarks: tuple[Remark, ...] = ()
    brings: tuple[str, ...] = ()
    puts_on_shelf: bool = False


@dataclass(frozen=True)
class Plan:
    """Every row's fate, and the questions for the whole sheet."""

    rows: tuple[RowPlan, ...]
    questions: tuple[Question, ...]


def planned(studio: Studio, reading: SheetReading, answers: Mapping[str, str]) -> Plan:
    """Compare what a sheet says with what the studio has."""
    planner = _Planner(studio, Book(studio), answers.get(SHELF, ""))
    rows = tuple(planner.plan(row) for row in reading.rows)
    questions = list(reading.questions)
    if SHELF in answers or any(one.asks == SHELF for row in rows for one in row.remarks):
        questions.append(Question(SHELF, *SHELF_QUESTION, answers.get(SHELF, "")))
    return Plan(rows, tuple(questions))


class _Planner:
    def __init__(self, studio: Studio, book: Book, shelf: str) -> None:
        self.studio, self.book, self.shelf = studio, book, shelf
        self.today = studio.today()
        # What earlier rows of the sheet bring in.
        self.materials: set[str] = set()
        self.suppliers: set[str] = set()
        self.packs: set[tuple[str, str, Decimal]] = set()
        self.codes: set[str] = set()

    def plan(self, row: SheetRow) -> RowPlan:
        remarks = (*row.remarks, *self._against(row))
        if any(remark.is_wrong for remark in remarks):
            return RowPlan(row, WRONG, remarks)
        if remarks:
            return RowPlan(row, ASK, remarks)
        puts, doubt = self._stock(row)
        if doubt:
            return RowPlan(row, ASK, (doubt,))
        brings = tuple(self._brings(row, puts))
        return RowPlan(row, GOOD if brings else SAME, (), brings, puts)

    def _against(self, row: SheetRow) -> Iterator[Remark]:
        """Yield what the studio has against a row that can be read."""
        yield from self._days(row)
        material = self.book.materials.get(folded(row.name))
        supplier = self.book.suppliers.get(folded(row.supplier))
        for there in (material, supplier):
            if there is not None and there.archived_at:
                yield Remark("", f"“{there}” was archived. Bring it back first, or rename this.")
        if material is not None and row.unit and row.unit != material.unit:
            unit = material.get_unit_display()
            yield Remark("", f"You count {material} in {unit}. How much is this in {unit}?")
        if row.outcome == GOOD:
            yield from _unkept(self.studio, row, material is None)
            yield from self._code(row)

    def _days(self, row: SheetRow) -> Iterator[Remark]:
        for day in filter(None, (row.received, row.opened, row.expires)):
            if not is_within(day):
                yield Remark("", SENTENCE, is_wrong=True)
        for past, what in ((row.received, "came in"), (row.opened, "was opened")):
            if past and past > self.today:
                sentence = f"It {what} on {past.isoformat()}, which is still to come."
                yield Remark("", sentence, is_wrong=True)
        if row.received and row.opened and row.opened < row.received:
            yield Remark("", "It was opened before it came in. Which day is right?")

    def _code(self, row: SheetRow) -> Iterator[Remark]:
        """Yield what is wrong with a bottle's own code; one that is there already is looked at
        where its content is."""
        if not row.code or not row.containers:
            return
        code = row.code.upper()
        if not CODE.fullmatch(row.code):
            yield Remark("", "A code has up to 12 letters, digits and hyphens.", is_wrong=True)
        elif len(row.containers) > 1:
            yield Remark("", f"Which of the {len(row.containers)} bottles has the code {code}?")
        elif code in self.codes:
            yield Remark("", f"Another row has the code {code} too. Which is right?")
        self.codes.add(code)

    def _stock(self, row: SheetRow) -> tuple[bool, Remark | None]:
        """Tell whether a row's bottles come in, or what has to be asked first."""
        if not row.containers:
            return False, None
        there = self.book.already(row)
        if there == len(row.containers):
            return False, None
        if there:
            sentence = f"{there} of these came in before. How many more are there?"
            return False, Remark("", sentence)
        if row.code.upper() in self.book.codes:
            return False, Remark("", f"There is another bottle {row.code}. Which code has this?")
        material = self.book.materials.get(folded(row.name))
        if material is not None and material.on_hand:
            if not self.shelf:
                words = amount(material, material.on_hand)
                sentence = (
                    f"{words} of {material} is on the shelf: answer above whether it is this."
                )
                return False, Remark("", sentence, asks=SHELF)
            return self.shelf == "more", None
        return True, None

    def _brings(self, row: SheetRow, puts_on_shelf: bool) -> Iterator[str]:
        """Yield what a good row brings in, in words."""
        name, supplier = folded(row.name), folded(row.supplier)
        if name not in self.book.materials and name not in self.materials:
            self.materials.add(name)
            yield f"new: {Material.Kind(row.kind).label.lower()}"
        if supplier and supplier not in self.book.suppliers and supplier not in self.suppliers:
            self.suppliers.add(supplier)
            yield f"new supplier {row.supplier}"
        if words := self._pack(row):
            yield words
        if puts_on_shelf:
            many = len(row.containers)
            worth = sum((one.value or Decimal(0) for one in row.containers), Decimal(0))
            each = "" if many == 1 else f" in {many}"
            yield f"{_words(row, row.on_hand)} on hand{each}, {self._money(worth)}"

    def _pack(self, row: SheetRow) -> str:
        if not row.supplier or row.pack_size is None or row.price is None:
            return ""
        material = self.book.materials.get(folded(row.name))
        supplier = self.book.suppliers.get(folded(row.supplier))
        there = None
        if material is not None and supplier is not None:
            there = self.book.packs.get((supplier.pk, material.pk, row.pack_size))
        size, price = _words(row, row.pack_size), self._money(row.price)
        key = (folded(row.name), folded(row.supplier), row.pack_size)
        if there is not None:
            before = self._money(there.price)
            is_same = there.price == checked_price(row.price)
            return "" if is_same else f"pack of {size}: {before} becomes {price}"
        if key in self.packs:
            return ""
        self.packs.add(key)
        return f"pack of {size} for {price}"

    def _money(self, value: Decimal) -> str:
        return format_money(value, self.studio.currency, self.studio.locale)


def _words(row: SheetRow, quantity: Decimal) -> str:
    return amount(Material(name=row.name, unit=row.unit), quantity)


def _unkept(studio: Studio, row: SheetRow, is_new: bool) -> Iterator[Remark]:
    """Yield what the columns of the studio cannot hold, in the words that its forms use."""
    rows: list[tuple[Model, list[str]]] = []
    if is_new:
        rows.append((material_of(studio, row), ["studio"]))
    if row.supplier:
        rows.append((Supplier(studio=studio, name=row.supplier), ["studio"]))
    if row.pack_size is not None and row.price is not None:
        pack = Pack(size=row.pack_size, price=row.price, label=row.pack_label)
        pack.supplier_code = row.supplier_code
        rows.append((pack, ["studio", "supplier", "material"]))
    for model, leave_out in rows:
        try:
            model.clean_fields(exclude=leave_out)
        except ValidationError as error:
            for sentences in error.message_dict.values():
                yield Remark("", sentences[0], is_wrong=True)
    try:
        Bottle._meta.get_field("place").clean(row.place, None)
        material = Material(name=row.name, unit=row.unit)
        for one in row.containers:
            checked_quantity(material, one.quantity, above_zero=True)
            checked_value(one.value or Decimal(0))
    except ValidationError as error:
        yield Remark("", error.messages[0], is_wrong=True)
    except StudioError as error:
        yield Remark("", str(error), is_wrong=True)


def material_of(studio: Studio, row: SheetRow) -> Material:
    """Return the new material that a row tells of; what the row does not say stays empty."""
    return Material(
        studio=studio,
        name=row.name,
        kind=row.kind,
        unit=row.unit,
        density_g_per_ml=row.density,
        pigments=row.pigments,
        notes=row.notes,
    )
