"""What a row of the table asks for, read against what is there; what is wrong, by its cell."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError

from inventory.models import Material, Pack, Supplier
from inventory.stock.imports.columns import CellError, price
from inventory.stock.table.cells import (
    COLUMNS,
    GROUPS,
    LONGEST_CELL,
    NAMES,
    RowSent,
    kind_named,
    unit_named,
    unit_of_size,
)
from inventory.stock.table.shown import Shown
from inventory.validators import (
    checked_price,
    checked_quantity,
    validate_kind_change,
    validate_unit_change,
)
from inventory.words import SHOWN, called
from studio.errors import StudioError
from studio.formfields import amount_field
from studio.models import Studio
from studio.money import ZERO

HEADINGS = {column.name: column.heading for column in COLUMNS}
PACK = {"supplier", "size", "price"}
NEW: Mapping[str, str] = dict.fromkeys(NAMES, "")


@dataclass
class Book:
    """What rows are read against: materials and suppliers by their folded names.

    ``suppliers`` grows by those that rows name and that are not there yet.
    """

    studio: Studio
    names: dict[str, int]
    suppliers: dict[str, Supplier]


@dataclass
class Wanted:
    """What one row changes: fields of its material, its pack, and the amount that is on hand.

    ``price`` is of a pack of ``size`` in the material's unit; ``on_hand`` too is in it.
    """

    material: Material
    fields: set[str] = field(default_factory=set)
    supplier: Supplier | None = None
    pack: Pack | None = None
    size: Decimal | None = None
    price: Decimal | None = None
    changes_pack: bool = False
    on_hand: Decimal | None = None


class RowReader:
    """Reads one row, collecting what is wrong with its cells by their names."""

    def __init__(self, book: Book, sent: RowSent, shown: Shown | None) -> None:
        self.book, self.shown = book, shown
        self.faults: dict[str, str] = {}
        self.now = dict(shown.cells if shown else NEW)
        self.was = {**self.now, **(sent.was or {})}
        # In a row that is known by its name alone, an empty cell leaves what is there as it is.
        keeps_empty = sent.material is not None or shown is None
        cells = {name: text for name, text in sent.cells.items() if text or keeps_empty}
        self.cells = {**self.was, **cells}
        self.touched = {name for name in NAMES if self.cells[name] != self.was[name]}
        for name in self.touched:
            if len(self.cells[name]) > LONGEST_CELL:
                self.fault(name, f"Use up to {LONGEST_CELL} characters.")
        self._refuse_stale()

    def _refuse_stale(self) -> None:
        for group in GROUPS:
            changed = [name for name in group if self.was[name] != self.now[name]]
            if changed and self.touched & set(group):
                now = ", ".join(f"{HEADINGS[name]} {self.now[name] or '–'}" for name in changed)
                first = next(name for name in group if name in self.touched)
                self.fault(
                    first,
                    f"Somebody changed this meanwhile. Now it says: {now}. Look at your entry, "
                    "and save again to keep it.",
                )
            elif changed:
                self.cells |= {name: self.now[name] for name in group}

    def fault(self, name: str, sentence: str) -> None:
        self.faults.setdefault(name, sentence)

    def read(self, name: str, reader: Callable[[str], Any]) -> Any:
        """Return a cell through its reader; None when it is wrong."""
        try:
            return reader(self.cells[name])
        except (CellError, StudioError) as error:
            self.fault(name, str(error))
        except ValidationError as error:
            self.fault(name, error.messages[0])
        return None

    def wanted(self) -> Wanted | None:
        """Return what the row changes; None where that is nothing, or where something is wrong."""
        if self.faults or not self.touched:
            return None
        wanted = Wanted(self.shown.material if self.shown else Material(studio=self.book.studio))
        self._material(wanted)
        if "unit" in self.faults:
            return None  # in it the amounts are read
        if self.touched & PACK:
            self._pack(wanted)
        elif self.shown and (pack := self.shown.pack):
            wanted.pack, wanted.size, wanted.price = pack, pack.size, pack.price
        if "on_hand" in self.touched:
            self._on_hand(wanted)
        return None if self.faults else wanted

    def _material(self, wanted: Wanted) -> None:
        readers: dict[str, Callable[[str], Any]] = {
            "name": self._name,
            "kind": kind_named,
            "unit": unit_named,
        }
        row = wanted.material
        if not self.shown and not self.cells["unit"] and self.cells["size"]:
            self.cells["unit"] = unit_of_size(self.cells["size"])
        for name, reader in readers.items():
            if self.shown and name not in self.touched:
                continue
            value = self.read(name, reader)
            if value is not None and value != getattr(row, name if self.shown else "pk"):
                self._check_change(name, value)
                setattr(row, name, value)
                wanted.fields.add(name)

    def _check_change(self, name: str, value: str) -> None:
        try:
            if self.shown and name == "kind":
                validate_kind_change(self.shown.material, value)
            if self.shown and name == "unit":
                validate_unit_change(self.shown.material, value)
        except ValidationError as error:
            self.fault(name, error.messages[0])

    def _name(self, text: str) -> str:
        if not text:
            raise CellError("Give it a name.")
        name: str = Material._meta.get_field("name").clean(text, None)
        there = self.book.names.get(folded_name(name))
        if there is not None and (self.shown is None or there != self.shown.material.pk):
            raise CellError(f"There is a material “{name}” already, or twice in this table.")
        return name

    def _pack(self, wanted: Wanted) -> None:
        shown = self.shown
        material, usual = wanted.material, shown.pack if shown else None
        empty = [name for name in ("supplier", "size", "price") if not self.cells[name]]
        if usual and empty:
            self.fault(
                empty[0], "A pack cannot be emptied here. On its supplier's page it can be changed."
            )
            return
        if "price" in empty and "on_hand" not in self.touched and "size" not in empty:
            self.fault("price", "Give the price of a pack.")
        if "size" in empty:
            self.fault("size", "Say how much is in a pack, such as 32 fl oz.")
        if self.faults.keys() & PACK:
            return
        is_same_size = usual is not None and "size" not in self.touched
        wanted.size = usual.size if usual and is_same_size else self._amount("size", material)
        if wanted.size is not None and not wanted.size:
            self.fault("size", "A pack holds more than nothing.")
        is_same_price = usual is not None and "price" not in self.touched
        wanted.price = usual.price if usual and is_same_price else self.read("price", self._price)
        if not self.cells["supplier"]:
            if "on_hand" not in self.touched:
                self.fault("supplier", "Name who sells it, so that the price is kept.")
            return
        wanted.supplier = self.read("supplier", self._supplier)
        if self.faults.keys() & PACK or wanted.supplier is None:
            return
        wanted.changes_pack = True
        wanted.pack = self._pack_of(wanted, is_same_size)

    def _pack_of(self, wanted: Wanted, is_same_size: bool) -> Pack | None:
        """Return the pack that the row is about, corrected where nothing rests on its size."""
        supplier, shown = wanted.supplier, self.shown
        assert supplier is not None  # read above
        if shown is None:
            return None
        usual = shown.pack
        if usual and is_same_size and usual.supplier_id == supplier.pk:
            return usual
        for pack in shown.packs:
            if (pack.supplier_id, pack.size) == (supplier.pk, wanted.size):
                return pack
        if usual and usual.supplier_id == supplier.pk and usual.pk not in shown.in_use:
            return usual
        return None

    def _supplier(self, text: str) -> Supplier:
        """Return the supplier of a name, a new one where there is none."""
        name: str = Supplier._meta.get_field("name").clean(text, None)
        there = self.book.suppliers.get(folded_name(name))
        if there is None:
            there = Supplier(studio=self.book.studio, name=name)
            self.book.suppliers[folded_name(name)] = there
        if there.archived_at:
            raise CellError(f"“{there}” is archived. Bring it back on its own page first.")
        return there

    def _price(self, text: str) -> Decimal:
        if not text:
            raise CellError("Give the price of a pack; 0 if it cost nothing.")
        value = price(text, self.book.studio.currency)
        return checked_price(value)

    def _amount(self, name: str, material: Material) -> Decimal | None:
        try:
            text = amount_field(self.book.studio, material, allow_zero=name == "on_hand")
            value = text.clean(self.cells[name])
        except ValidationError as error:
            self.fault(name, error.messages[0])
            return None
        return None if value is None else checked_quantity(material, value)

    def _on_hand(self, wanted: Wanted) -> None:
        material, shown = wanted.material, self.shown
        if shown and not self.cells["on_hand"]:
            self.fault("on_hand", "Write 0 if nothing is left.")
            return
        on_hand = self._amount("on_hand", material)
        if on_hand is None or (shown and on_hand == material.on_hand.quantize(SHOWN)):
            return
        wanted.on_hand = on_hand
        if not material.is_stocked:
            self.fault("on_hand", "It is always there and is not counted.")
        elif shown and shown.bottles > 1:
            what = called(material)
            self.fault("on_hand", f"It is in {shown.stands_in}: count each {what} on its own page.")
        elif shown and not shown.bottles and not shown.is_new:
            self.fault(
                "on_hand",
                "None of it is on the shelf. Put what came under “What came”; what was found in an "
                f"empty {called(material)} is counted on its own page.",
            )
        is_new = (shown is None or shown.is_new) and not self.faults.keys() & PACK
        if is_new and wanted.on_hand and (wanted.size is None or wanted.price is None):
            missing = "size" if wanted.size is None else "price"
            self.fault(
                missing, "Give the size and the price of a pack, so that what is there has a value."
            )
        elif is_new and wanted.on_hand == ZERO:
            wanted.on_hand = None


def folded_name(name: str) -> str:
    """Return what makes two names the same."""
    return " ".join(name.split()).casefold()
