"""Materials, suppliers and packs: one row each, checked by the form that a page would show.

A row is known by its name (a pack by supplier, material, size and label). An empty cell, or a
column that is left out, leaves what is there as it is.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from copy import copy
from decimal import Decimal
from typing import Any, TypeVar

from django import forms
from django.contrib.auth.models import User
from django.db.models import QuerySet

from inventory.models import Material, Pack, Supplier
from inventory.stock.imports.columns import CellError, Column, choice, number, of_form_field, price
from inventory.stock.imports.columns import yes_or_no as read_yes_or_no
from inventory.stock.imports.fates import Change, Fate, Fault, RowFate
from inventory.supplies.forms.materials import MaterialForm
from inventory.supplies.forms.suppliers import PackForm, SupplierForm
from studio.formfields import amount_field
from studio.model_forms import StudioModelForm
from studio.models import Studio
from studio.sight import COSTS, Sight
from studio.tables import Table, TableRow
from studio.tables.writing import as_text

MONEY = {"price", "minimum_order", "shipping_fee", "free_shipping_over"}


class NamedRows:
    """A sheet whose rows are rows of one model, written through its form."""

    name = title = lede = ""
    sights: tuple[Sight, ...] = ()
    form_class: type[StudioModelForm]
    extra: dict[str, str] = {}
    key: tuple[str, ...] = ("name",)

    @property
    def columns(self) -> tuple[Column, ...]:
        return tuple(
            of_form_field(self.form_class, name, self.extra.get(name, ""))
            for name in self.form_class.base_fields
        )

    def rows(self, studio: Studio) -> QuerySet[Any]:
        """Return the rows that are there."""
        raise NotImplementedError  # each sheet is of rows of its own

    def book(self, studio: Studio) -> dict[str, Any]:
        """Return what the rows are checked against."""
        return {_folded(row.name): row for row in self.rows(studio)}

    def rests_on(self, studio: Studio) -> Iterable[QuerySet[Any]]:
        """Return the rows that decide what becomes of a file."""
        return (self.rows(studio),)

    def plan(self, studio: Studio, table: Table) -> Iterator[RowFate]:
        """Yield the fate of each row."""
        book = self.book(studio)
        seen: dict[str, int] = {}
        for row in table.rows:
            fate = self._fate(studio, table, row, book)
            first = seen.setdefault(fate.what.casefold(), row.line)
            if first != row.line and fate.what and fate.fate != Fate.WRONG:
                sentence = f"Line {first} is about “{fate.what}” already. Keep one of them."
                fate = RowFate(row.line, fate.what, Fate.WRONG, faults=(Fault("", sentence),))
            yield fate

    def write(self, studio: Studio, by: User, rows: Iterable[RowFate], why: str) -> None:
        """Save the rows that are new or changed."""
        for row in rows:
            row.write.save()

    def template_rows(self, studio: Studio) -> list[list[str]]:
        return []

    def _fate(self, studio: Studio, table: Table, row: TableRow, book: dict[str, Any]) -> RowFate:
        name = self.columns[0].cell(row) or ""
        row_there = book.get(_folded(name))
        if row_there is not None and row_there.archived_at:
            sentence = f"“{row_there}” was archived. Bring it back first, or choose another name."
            fault = Fault(self.columns[0].heading, sentence)
            return RowFate(row.line, name, Fate.WRONG, faults=(fault,))
        ready = {} if row_there is None else {"name": row_there.name}
        return self.judged(studio, table, row, name, row_there, self.form_class, ready)

    def judged(
        self,
        studio: Studio,
        table: Table,
        row: TableRow,
        what: str,
        row_there: Any,
        form_class: Callable[..., StudioModelForm],
        ready: Mapping[str, Any],
    ) -> RowFate:
        """Return the fate of a row by its form; ``ready`` are fields that were read already."""
        instance = copy(row_there) if row_there is not None else None
        blank = form_class(instance=instance, studio=studio, **self.form_options)
        read, faults = self._read(studio, table, row, blank, ready)
        data = {**_initial(blank), **read}
        form = form_class(data, instance=instance, studio=studio, **self.form_options)
        # What is there is known from the book, and the database has the last word: asking it about
        # every row would take most of the time.
        form.validate_constraints = lambda: None  # type: ignore[method-assign]  # of this one form only
        headings = {column.name: column.heading for column in self.columns}
        if not form.is_valid():
            faulty_headings = {fault.heading for fault in faults}
            for field, errors in form.errors.as_data().items():
                heading = headings.get(field, "")
                if heading not in faulty_headings:
                    faults += [Fault(heading, _sentence(error)) for error in errors]
        if faults:
            return RowFate(row.line, what, Fate.WRONG, faults=tuple(faults))
        if row_there is None:
            return RowFate(row.line, what, Fate.NEW, write=form)
        changes = tuple(
            Change(
                headings[field],
                *(_shown(form, field, each) for each in (getattr(row_there, field), value)),
            )
            for field, value in form.cleaned_data.items()
            if field in read and _differs(getattr(row_there, field), value)
        )
        fate = Fate.CHANGED if changes else Fate.SAME
        return RowFate(row.line, what, fate, changes, write=form)

    form_options: dict[str, Any] = {}

    def _read(
        self,
        studio: Studio,
        table: Table,
        row: TableRow,
        form: StudioModelForm,
        ready: Mapping[str, Any],
    ) -> tuple[dict[str, Any], list[Fault]]:
        read = dict(ready)
        faults: list[Fault] = []
        for column in self.columns:
            if column.name in ready:
                continue
            if column.fault(row):
                faults.append(Fault(column.heading, column.fault(row)))
            elif text := column.cell(row):
                try:
                    read[column.name] = _value(
                        text, form.fields[column.name], column.name, studio, table
                    )
                except CellError as error:
                    faults.append(Fault(column.heading, str(error)))
        return read, faults


class MaterialSheet(NamedRows):
    name, title = "materials", "Materials"
    lede = "Paints, mediums, resin, tiles, boxes: what you keep, known by its name."
    form_class = MaterialForm
    extra = {
        "is_stocked": "yes or no.",
        "has_silicone": "yes or no.",
        "is_flammable": "yes or no.",
        "swatch": "Such as #1f6f8b.",
    }

    def rows(self, studio: Studio) -> QuerySet[Material]:
        return studio.materials.all()


class SupplierSheet(NamedRows):
    name, title = "suppliers", "Suppliers"
    lede = "Where you buy and on what terms, known by name."
    form_class = SupplierForm
    sights = (COSTS,)

    def rows(self, studio: Studio) -> QuerySet[Supplier]:
        return studio.suppliers.all()


class PackSheet(NamedRows):
    """A price list: rows of packs of suppliers and materials that are there already."""

    name, title = "packs", "Packs and prices"
    lede = "Price lists: who sells what, in which size and at what price."
    form_class = PackForm
    sights = (COSTS,)
    extra = {"is_on_offer": "yes or no.", "material": "Its name, as on your list of materials."}
    key = ("supplier", "material", "size")
    supplier = Column("supplier", "Supplier", "Its name, as on your list of suppliers.", True)

    @property
    def columns(self) -> tuple[Column, ...]:
        return (self.supplier, *super().columns)

    def rests_on(self, studio: Studio) -> Iterable[QuerySet[Any]]:
        return studio.packs.all(), studio.suppliers.all(), studio.materials.all()

    def book(self, studio: Studio) -> dict[str, Any]:
        packs = studio.packs.select_related("supplier", "material")
        return {
            "suppliers": {_folded(row.name): row for row in studio.suppliers.all()},
            "materials": {_folded(row.name): row for row in studio.materials.all()},
            "packs": {
                (pack.supplier_id, pack.material_id, pack.size, _folded(pack.label)): pack
                for pack in packs
            },
        }

    def _fate(self, studio: Studio, table: Table, row: TableRow, book: dict[str, Any]) -> RowFate:
        supplier, fault_s = _named(row, self.supplier, book["suppliers"], "supplier")
        material, fault_m = _named(row, self.columns[1], book["materials"], "material")
        by_name = {column.name: column for column in self.columns}
        size = fault_z = None
        if material is not None:
            size, fault_z = _size(studio, material, by_name["size"], row)
        label = by_name["label"].cell(row) or ""
        faults = tuple(filter(None, (fault_s, fault_m, fault_z)))
        if faults or supplier is None or material is None or size is None:
            what = " ".join(filter(None, (column.cell(row) for column in self.columns[:3])))
            return RowFate(row.line, what, Fate.WRONG, faults=faults)
        what = f"{material}, {as_text(size)} {material.get_unit_display()}"
        what += f", {label}" if label else ""
        pack = book["packs"].get((supplier.pk, material.pk, size, _folded(label)))
        ready = {"supplier": supplier, "material": material.pk, "size": size}

        def form_class(*args: Any, **options: Any) -> PackForm:
            return PackForm(*args, supplier=supplier, **options)

        return self.judged(studio, table, row, f"{what} from {supplier}", pack, form_class, ready)


Named = TypeVar("Named", Supplier, Material)


def _named(
    row: TableRow, column: Column, rows_by_name: Mapping[str, Named], word: str
) -> tuple[Named | None, Fault | None]:
    """Return the row that a cell names, or what is wrong with it."""
    text = column.cell(row)
    if not text:
        return None, Fault(column.heading, f"Name the {word}.")
    match = rows_by_name.get(_folded(text))
    if match is None:
        return None, Fault(column.heading, f"There is no {word} “{text}” yet. Add it first.")
    if match.archived_at:
        return None, Fault(column.heading, f"“{match}” was archived. Bring it back first.")
    return match, None


def _size(
    studio: Studio, material: Material, column: Column, row: TableRow
) -> tuple[Decimal | None, Fault | None]:
    """Read an amount of a material, in its unit or in another that can be turned into it."""
    try:
        value = amount_field(studio, material).clean(column.cell(row) or "")
    except forms.ValidationError as error:
        return None, Fault(column.heading, error.messages[0])
    places = Pack._meta.get_field("size").decimal_places
    return round(value, places), None


def _value(text: str, field: forms.Field, name: str, studio: Studio, table: Table) -> Any:
    if isinstance(field, forms.BooleanField):
        return read_yes_or_no(text)
    if isinstance(field, forms.ChoiceField):
        return choice(text, field.choices)
    if name in MONEY:
        return price(text, studio.currency, table.decimal_comma)
    if name.endswith("_c"):  # as its heading says, whatever the studio's own unit is
        return f"{number(text, table.decimal_comma)} °C"
    if isinstance(field, forms.DecimalField | forms.IntegerField):
        return number(text, table.decimal_comma)
    return text


def _shown(form: StudioModelForm, name: str, value: Any) -> str:
    """Return a value as a person would write it in the cell."""
    return as_text(form.fields[name].prepare_value(value) if isinstance(value, list) else value)


def _sentence(error: forms.ValidationError) -> str:
    return "This cannot be left empty." if error.code == "required" else error.messages[0]


def _initial(form: StudioModelForm) -> dict[str, Any]:
    """Return what a form shows before anything is typed, as its data."""
    values = {name: form.get_initial_for_field(form.fields[name], name) for name in form.fields}
    return {
        name: form.fields[name].prepare_value(value) if isinstance(value, Decimal) else value
        for name, value in values.items()
        if value is not None
    }


def _differs(before: Any, after: Any) -> bool:
    if isinstance(before, Decimal) and isinstance(after, Decimal):
        return before != after
    return (before if before is not None else "") != (after if after is not None else "")


def _folded(name: str) -> str:
    return " ".join(name.split()).casefold()
