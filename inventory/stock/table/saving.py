"""The table of materials, saved: all its rows in one act, or nothing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.models import Movement, Pack
from inventory.stock import ledger as stock
from inventory.stock.locks import lock_materials
from inventory.stock.table.cells import MOST_ROWS, RowSent
from inventory.stock.table.reading import Book, RowReader, Wanted, folded_name
from inventory.stock.table.shown import Shown, shown_rows
from inventory.validators import checked_value
from inventory.words import called
from studio.errors import StudioError
from studio.models import Studio
from studio.rows import keep_row

MOST_BOTTLES = 100
# Below this share of a pack, what is over is from turning units into each other, and no bottle.
TRIFLE = Decimal("0.001")


class TableRefused(StudioError):
    """A table of which nothing was saved; ``faults`` is {place of the row: {column: sentence}}."""

    code = "table_refused"

    def __init__(self, faults: Mapping[int, Mapping[str, str]]) -> None:
        self.faults = faults
        what = "1 row needs" if len(faults) == 1 else f"{len(faults)} rows need"
        super().__init__(f"Nothing was saved: {what} another look.")

    @property
    def fields(self) -> dict[str, list[str]]:
        """Return each cell at fault with its sentence, named as ``rows.3.price``."""
        return {
            f"rows.{place}.{name}": [sentence]
            for place, row in self.faults.items()
            for name, sentence in row.items()
        }


@dataclass
class Saved:
    """How many of each were added, changed and counted."""

    added: int = 0
    changed: int = 0
    packs: int = 0
    suppliers: int = 0
    counted: int = 0
    put_in: int = 0

    @property
    def sentence(self) -> str:
        """Say what was done, for a person."""
        parts = [
            _so_many(self.added, "material added", "materials added"),
            _so_many(self.changed, "material changed", "materials changed"),
            _so_many(self.packs, "pack saved", "packs saved"),
            _so_many(self.suppliers, "new supplier", "new suppliers"),
            _so_many(self.put_in, "opening amount", "opening amounts"),
            _so_many(self.counted, "amount counted", "amounts counted"),
        ]
        said = ", ".join(filter(None, parts))
        return f"Saved: {said}." if said else "Nothing was changed."


@transaction.atomic
def save_table(*, studio: Studio, by: User, rows: Sequence[RowSent]) -> Saved:
    """Save rows of the table of materials, all of them or nothing; returns how many of what.

    A row without a change writes nothing. What is on hand of a material that never had any goes in
    as opening stock, in bottles of its pack's size; another amount in the one bottle that there is
    counts as a recount. A pack that was bought or ordered keeps its size: another size, or another
    supplier, is another pack. Raises `TableRefused` with every cell at fault.
    """
    if len(rows) > MOST_ROWS:
        raise StudioError(f"Save at most {MOST_ROWS} rows at once.")
    book, shown = _looked_up(studio, rows)
    wanted: list[Wanted] = []
    faults: dict[int, dict[str, str]] = {}
    for place, sent in enumerate(rows):
        if sent.is_untouched:
            continue
        reader = RowReader(book, sent, shown.get(place))
        if one := reader.wanted():
            wanted.append(one)
            book.names.setdefault(folded_name(one.material.name), 0)
            reader.faults |= _checked_pack(one)
        if reader.faults:
            faults[place] = reader.faults
    if faults:
        raise TableRefused(faults)
    return _written(studio, by, wanted)


def _looked_up(studio: Studio, rows: Sequence[RowSent]) -> tuple[Book, dict[int, Shown]]:
    """Lock the materials of the rows, and return what these are read against, by their place."""
    names = {folded_name(name): pk for pk, name in studio.materials.values_list("pk", "name")}
    keys: dict[int, int] = {}
    for place, row in enumerate(rows):
        if row.is_untouched:
            continue
        key = row.material or names.get(folded_name(row.cells.get("name", "")))
        if key is not None and key in keys.values():
            raise TableRefused({place: {"name": "This material is in the table twice."}})
        if key is not None:
            keys[place] = key
    locked = lock_materials(studio, keys.values())
    shown = {one.material.pk: one for one in shown_rows(studio, locked.values())}
    away = {place: key for place, key in keys.items() if locked[key].archived_at}
    if away:
        sentence = "This material is archived. Bring it back on its own page first."
        raise TableRefused({place: {"name": sentence} for place in away})
    suppliers = {folded_name(one.name): one for one in studio.suppliers.all()}
    return Book(studio, names, suppliers), {place: shown[key] for place, key in keys.items()}


def _checked_pack(wanted: Wanted) -> dict[str, str]:
    """Set the pack as wanted, and return what is wrong with it or with what it is to bring in."""
    pack = wanted.pack or Pack(studio=wanted.material.studio, material=wanted.material)
    if wanted.changes_pack and (pack.size, pack.price) != (wanted.size, wanted.price):
        assert wanted.size is not None and wanted.price is not None  # as the reader left them
        pack.size, pack.price = wanted.size, wanted.price
        try:
            pack.clean()
        except ValidationError as error:
            return {"price": error.messages[0]}
        wanted.pack = pack
    else:
        wanted.changes_pack = False
    is_poured = called(wanted.material) == "bottle"
    if is_poured and wanted.on_hand and wanted.size and wanted.on_hand / wanted.size > MOST_BOTTLES:
        most = f"That is more than {MOST_BOTTLES} packs of this size. Look at both again."
        return {"on_hand": most}
    return {}


def _written(studio: Studio, by: User, wanted: Sequence[Wanted]) -> Saved:
    saved = Saved()
    openings: list[stock.Receipt] = []
    for one in wanted:
        is_new = one.material._state.adding
        if one.fields:
            keep_row(row=one.material, names=one.fields)
            saved.added += is_new
            saved.changed += not is_new
        if one.changes_pack:
            saved.suppliers += _keep_pack(one)
            saved.packs += 1
    for one in wanted:
        if one.on_hand is None:
            continue
        bottle = studio.bottles.filter(material=one.material, remaining__gt=0).first()
        if bottle is None:
            openings += _opening(one, one.on_hand)
            saved.put_in += 1
        elif stock.recount(
            studio=studio, by=by, bottle=bottle, quantity=one.on_hand, why="In the table"
        ):
            saved.counted += 1
    if openings:
        stock.receive(
            studio=studio,
            by=by,
            receipts=openings,
            kind=Movement.Kind.OPENING,
            purpose="Opening stock",
        )
    return saved


def _keep_pack(wanted: Wanted) -> bool:
    """Keep a pack, and its supplier where that is new; tell whether it is."""
    supplier, pack = wanted.supplier, wanted.pack
    assert supplier is not None and pack is not None  # as they were checked
    is_new = supplier._state.adding
    if is_new:
        keep_row(row=supplier)
    pack.supplier, pack.material = supplier, wanted.material
    keep_row(row=pack, names=("size", "price"))
    return is_new


def _opening(wanted: Wanted, on_hand: Decimal) -> list[stock.Receipt]:
    """Return what is on hand as bottles of the pack's size, the last one part used; items as one.

    It is worth what so much of a pack costs.
    """
    material, size, price = wanted.material, wanted.size, wanted.price
    assert size is not None and price is not None  # as the reader left them
    parts = [on_hand]
    if called(material) == "bottle":
        full, rest = divmod(on_hand, size)
        parts = [size] * int(full)
        if full and rest < size * TRIFLE:
            parts[-1] += rest
        elif rest:
            parts.append(rest)
    return [
        stock.Receipt(
            material=material,
            quantity=part,
            value=checked_value(price * part / size),
            pack=wanted.pack,
            capacity=size if called(material) == "bottle" else None,
        )
        for part in parts
    ]


def _so_many(number: int, one: str, several: str) -> str:
    return f"{number} {one if number == 1 else several}" if number else ""
