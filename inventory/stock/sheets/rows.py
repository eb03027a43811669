"""One row of a sheet as what it says: a material, a pack, what of it is on hand."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import TypeVar

from inventory.stock.sheets.amounts import PACK, THING, Measure, Ways, read_measure
from inventory.stock.sheets.columns import ROLES
from inventory.stock.sheets.days import read_day
from inventory.stock.sheets.doubts import CellDoubtful, CellWrong, SheetAsked, shown
from inventory.stock.sheets.facts import Container, Remark, SheetRow
from inventory.stock.sheets.kinds import guess_kind
from inventory.stock.sheets.layout import Layout, Thing
from inventory.stock.sheets.prices import priced_by, read_price
from inventory.stock.sheets.words import COUNTED_KINDS, NOTHING_SAID, plain_words

QUANTITY, VALUE = Decimal("0.0001"), Decimal("0.000001")
MOST_BOTTLES = 200
MOST = Fraction(10**9)  # beyond what stock can have, and still a number that rounds
UNITS = ("ml", "g", "each")
LONGEST = 60  # characters of a heading
HEADING_WORD = re.compile(r"[a-z]+")
HEADING_UNITS = {"ml", "cl", "l", "litre", "litres", "liter", "liters", "litro", "litros"} | {
    *("g", "kg", "gram", "grams", "gramm", "grammes", "gramos")
}
# What a spreadsheet would work out, and did not.
UNWORKED = re.compile(r"=|@|#(?:REF|NAME|VALUE|DIV|N/A|NUM|NULL)")
Read = TypeVar("Read")


@dataclass(frozen=True)
class Sense:
    """How the cells of a sheet are to be read: its ways, its order of dates, its money, how a unit
    is told where no cell does, and what its owner answered, [-]."""

    layout: Layout
    ways: Ways
    days: str
    currency: str
    answers: Mapping[str, str]
    known_units: Mapping[str, str]

    def heading(self, role: str) -> str:
        place = self.layout.place(role)
        own = place is not None and place < len(self.layout.headings)
        return (self.layout.headings[place or 0] if own else "") or ROLES[role]


def read_row(thing: Thing, sense: Sense) -> SheetRow:
    """Read one row; what cannot be read is told in its remarks."""
    return _RowReader(thing, sense).read()


class _RowReader:
    def __init__(self, thing: Thing, sense: Sense) -> None:
        self.thing, self.sense = thing, sense
        self.row = SheetRow(thing.line.number, thing.line.cells, thing.group)
        self.each: Fraction | None = None  # what one mL or g costs, where the sheet says so

    def read(self) -> SheetRow:
        row = self.row
        row.name = " ".join(self.said("name").split())
        if not row.name:
            self.remark("name", "What is this? Give it a name.")
        for role in ("supplier", "supplier_code", "place", "code", "pigments", "notes"):
            setattr(row, role, self.said(role))
        own = guess_kind(self.said("kind")) or guess_kind(row.name)
        row.kind = own or guess_kind(row.group) or "other"
        row.received = self.of("received", self._day(ends=False))
        row.opened = self.of("opened", self._day(ends=False))
        row.expires = self.of("expires", self._day(ends=True))
        row.density = self.of("density", self._density)
        if self.thing.is_bare:
            self.remark(
                "", f"Is “{row.name}” a thing you keep, or a heading? Say how much there is."
            )
            return row
        pack, row.price = self.of("pack", self.measure), self.of("price", self._price)
        worth = self.of("worth", self._price) if row.price is None else None
        self._amounts(pack, self.of("on_hand", self.measure), worth)
        return row

    def text(self, role: str) -> str:
        return self.thing.line.cell(self.sense.layout.place(role))

    def _refuse_formula(self, role: str, text: str) -> None:
        what = "shows an error" if text.startswith("#") else "is a formula without its value"
        sentence = f"“{shown(text)}” {what}. Write the value itself."
        self.remark(role, sentence, is_wrong=True)

    def said(self, role: str) -> str:
        """Return a cell's text, empty where it only says that nothing is known."""
        text = self.text(role)
        if UNWORKED.match(text):
            self._refuse_formula(role, text)
        is_empty = len(text) < 12 and plain_words(text).strip() in NOTHING_SAID | {"?"}
        return "" if is_empty else text.strip()

    def remark(self, role: str, sentence: str, *, is_wrong: bool = False, asks: str = "") -> None:
        heading = self.sense.heading(role) if role else ""
        said = Remark(heading, sentence, is_wrong, asks)
        if said not in self.row.remarks:
            self.row.remarks.append(said)

    def of(self, role: str, reader: Callable[[str], Read | None]) -> Read | None:
        """Return a cell through its reader; None where it is empty, wrong or in doubt."""
        text = self.text(role)
        if UNWORKED.match(text):
            self._refuse_formula(role, text)
            return None
        try:
            return reader(text) if text else None
        except CellWrong as error:
            self.remark(role, str(error), is_wrong=True)
        except CellDoubtful as error:
            self.remark(role, str(error))
        except SheetAsked as error:
            self.remark(role, f"“{shown(text)}” waits for your answer above.", asks=str(error))
        return None

    def measure(self, text: str) -> Measure | None:
        return read_measure(text, self.sense.ways)

    def _day(self, *, ends: bool) -> Callable[[str], date | None]:
        return lambda text: read_day(text, self.sense.days, ends)

    def _price(self, text: str) -> Decimal | None:
        return read_price(text, self.sense.currency, self.sense.ways.decimals)

    def _density(self, text: str) -> Decimal | None:
        measure = self.measure(text)
        if measure is None:
            return None
        if not Fraction(1, 10) <= measure.whole <= 25:
            raise CellWrong("A density is from 0.1 to 25 g/mL.")
        return _exact(measure.whole)

    def _amounts(
        self, pack: Measure | None, on_hand: Measure | None, worth: Decimal | None
    ) -> None:
        """Put together the pack, what is on hand, and what that is worth."""
        row = self.row
        if pack is not None and pack.unit in (PACK, THING):
            pack = Measure(pack.number, "each", pack.times)
        pack, on_hand = self._in_unit(pack, "pack"), self._in_unit(on_hand, "on_hand", pack)
        row.unit = next((one.unit for one in (pack, on_hand) if one and one.unit in UNITS), "")
        row.unit = row.unit or self._unit_told()
        if pack is not None and pack.whole <= 0:
            self.remark("pack", "A pack holds something. How much?")
            pack = None
        if pack is not None:
            row.pack_size, row.pack_label = _exact(pack.whole), self.said("pack")
        self._price_by_measure(pack)
        if not row.unit and not any(remark.heading for remark in row.remarks):
            self.remark("", f"What is “{row.name}” counted in: mL, g or pieces? Give a pack size.")
        lacks_price = row.supplier and pack is not None and row.price is None
        if lacks_price and not self._is_unpriced() and not self._is_remarked("price"):
            self.remark("price", f"What does this pack cost at {row.supplier}?")
        if on_hand is not None and on_hand.whole and row.unit:
            self._contain(on_hand, pack, worth)

    def _price_by_measure(self, pack: Measure | None) -> None:
        """Turn a price by the litre or the kilogram into that of the pack, if there is one."""
        row = self.row
        basis = priced_by(self.sense.heading("price"), self.sense.ways)
        if row.price is not None and basis is not None and basis.unit == row.unit:
            self.each = Fraction(row.price) / basis.whole
            row.price = None if pack is None else _money(self.each * pack.whole)

    def _in_unit(
        self, measure: Measure | None, role: str, pack: Measure | None = None
    ) -> Measure | None:
        """Give a bare number the unit that its row, its heading or its kind tells."""
        if measure is None:
            return None
        if measure.unit == "each" and pack is not None and pack.unit in ("ml", "g"):
            return Measure(measure.whole, PACK)  # three pieces of a bottle are three bottles
        if measure.unit in UNITS:
            return measure
        if measure.unit in (PACK, THING):
            return self._packs(measure, pack)
        unit = self._unit_cell() or self._unit_of_heading(role)
        if unit is not None and unit.unit in UNITS:
            return Measure(measure.number * unit.whole, unit.unit, measure.times)
        if role == "on_hand" and pack is not None and self.sense.layout.place("unit") is None:
            return self._packs(measure, pack)
        told = self._unit_told()
        if told or self.row.kind in COUNTED_KINDS:
            if role == "on_hand" and pack is None and not told:
                return self._unclear(role, measure)
            return Measure(measure.number, told or "each", measure.times)
        return self._unclear(role, measure)

    def _packs(self, measure: Measure, pack: Measure | None) -> Measure | None:
        """Return an amount of packs, as it is; of something that has no pack, pieces or a doubt."""
        if pack is not None or not measure.whole:
            return Measure(measure.whole, PACK)
        if measure.unit == THING and self.row.kind in COUNTED_KINDS:
            return Measure(measure.whole, "each")
        return self._unclear("on_hand", measure)

    def _unclear(self, role: str, measure: Measure) -> Measure | None:
        """Ask what a bare number is of; there is no amount till that is said."""
        if not self._is_remarked("pack") or role == "pack":
            number = f"{float(measure.whole):g}"
            self.remark(role, f"{number} of what size? Write it with its unit, such as 250 mL.")
        return None

    def _is_remarked(self, role: str) -> bool:
        return any(remark.heading == self.sense.heading(role) for remark in self.row.remarks)

    def _is_unpriced(self) -> bool:
        return self.sense.answers.get("unpriced") == "nothing"

    def _unit_cell(self) -> Measure | None:
        text = self.said("unit")
        return self.of("unit", lambda _: self.measure(f"1 {text}")) if text else None

    def _unit_of_heading(self, role: str) -> Measure | None:
        """Return the unit that stands in a heading, such as “Stock (ml)” or “g left”."""
        place = self.sense.layout.place(role)
        if place is None or place >= len(self.sense.layout.headings):
            return None
        words = HEADING_WORD.findall(plain_words(self.sense.layout.headings[place][:LONGEST]))
        for word in HEADING_UNITS.intersection(words):
            return self.measure(f"1 {word}")
        return None

    def _unit_told(self) -> str:
        """Return the unit of a row without amounts, as its unit, a heading or another row tells."""
        headings = (self._unit_of_heading(role) for role in ("on_hand", "pack"))
        told = [one.unit for one in (self._unit_cell(), *headings) if one and one.unit in UNITS]
        known = self.sense.known_units.get(" ".join(self.row.name.split()).casefold(), "")
        return told[0] if told else known

    def _contain(self, on_hand: Measure, pack: Measure | None, worth: Decimal | None) -> None:
        """Say which bottles hold what is on hand, and what each is worth."""
        row = self.row
        if on_hand.unit == PACK and pack is not None:
            size, whole = pack.number, on_hand.whole * pack.whole
        else:
            size, whole = on_hand.number, on_hand.whole
            if pack is not None and pack.unit == on_hand.unit and on_hand.times == 1:
                size = pack.number
        told = on_hand.unit if on_hand.unit in UNITS else row.unit
        if told != row.unit:
            self.remark(
                "on_hand", "The pack is in another unit. Write both in mL, in g or in pieces."
            )
            return
        if row.unit == "each":
            size = whole
            if whole.denominator != 1:
                self.remark("on_hand", "Pieces are counted whole. How many are there?")
                return
        if whole / size > MOST_BOTTLES:
            self.remark("on_hand", f"Are there really more than {MOST_BOTTLES} of these?")
            return
        each = self._worth_of_one(pack, whole, worth)
        row.containers = tuple(_containers(whole, size, each))

    def _worth_of_one(
        self, pack: Measure | None, whole: Fraction, worth: Decimal | None
    ) -> Fraction | None:
        """Return what one mL, g or piece is worth; None where it is not known."""
        if self.each is not None:
            return self.each
        price = self.row.price
        if price is not None:
            if pack is not None:
                return Fraction(price) / pack.whole
            if self.row.unit == "each" or self.sense.answers.get("priced") == "one":
                return Fraction(price) / (1 if self.row.unit == "each" else 1000)
            if self.sense.answers.get("priced") == "all":
                return Fraction(price) / whole
            if not self._is_remarked("pack"):
                self.remark("price", "This price waits for your answer above.", asks="priced")
            return None
        if worth is not None:
            return Fraction(worth) / whole
        if self._is_unpriced():
            return Fraction(0)
        if not self._is_remarked("price"):
            self.remark("price", "What this cost waits for your answer above.", asks="unpriced")
        return None


def _containers(whole: Fraction, size: Fraction, each: Fraction | None) -> list[Container]:
    found = []
    while whole > 0:
        part = min(whole, size)
        quantity, value = _exact(part), None if each is None else _money(part * each)
        if quantity > 0:
            found.append(Container(quantity, max(_exact(size), quantity), value))
        whole -= part
    return found


def _exact(value: Fraction) -> Decimal:
    return _decimal(min(value, MOST)).quantize(QUANTITY, ROUND_HALF_UP)


def _money(value: Fraction) -> Decimal:
    return _decimal(min(value, MOST)).quantize(VALUE, ROUND_HALF_UP)


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)
