"""Stock at the lower of cost and net realisable value, item by item. It posts nothing.

IAS 2 Inventories, 9 and 28-33. Materials are held for use in pieces: as long as what was made of
them sells at cost or above they stay at cost (32); otherwise they are measured by what replacing
them would cost. What has expired brings nothing unless somebody appraised it.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory.models import Bottle, Material, Movement
from inventory.stock.costing import Kept, Valued, lower_of_cost_and_nrv, value_material
from pricing.costing.piece_costs import CostBook, cost_book
from pricing.costing.worth import replacement_costs
from pricing.earnings import expected as prices
from pricing.earnings.expected import Expected, PriceList
from pricing.earnings.profit import Kind, SetProfit, described_sets, set_profit
from pricing.models import Appraisal, FinishedPiece, PieceSet, Pour, Topcoating
from studio.models import Studio
from studio.money import ZERO

# How far back sales speak for what pieces bring now: common practice, no source.
SALES_DAYS = 365

# By what it is of, and that one's key.
Appraised = dict[tuple[str, int], Appraisal]

BASES = {
    "appraised": "appraised",
    "expired": "expired, nothing",
    "covered": "pieces made of it sell at cost or above",
    "replacement": "what a new one costs",
    "unknown": "no price known, left at cost",
}


@dataclass(frozen=True)
class MaterialValue:
    """One material on hand: its items, each at the lower of cost and measure."""

    material: Material
    items: tuple[Valued, ...]
    replacement: Decimal | None

    @property
    def quantity(self) -> Decimal:
        """What is on hand, [mL, g or items]."""
        return sum((item.quantity for item in self.items), ZERO)

    @property
    def cost(self) -> Decimal:
        """What it cost, [currency]."""
        return sum((item.cost for item in self.items), ZERO)

    @property
    def measure(self) -> Decimal | None:
        """What it would bring or cost anew, [currency]; None where any item has no measure."""
        measures = [item.measure for item in self.items if item.measure is not None]
        return sum(measures, ZERO) if len(measures) == len(self.items) else None

    @property
    def value(self) -> Decimal:
        """The lower of the two, item by item, [currency]."""
        return sum((item.value for item in self.items), ZERO)

    @property
    def write_down(self) -> Decimal:
        """How far cost is above that, [currency]."""
        return self.cost - self.value

    @property
    def basis(self) -> str:
        """What its items were measured by, in words."""
        return "; ".join(dict.fromkeys(BASES[item.basis] for item in self.items))


@dataclass(frozen=True)
class FinishedValue:
    """One set on hand, or the loose pieces of one pour: cost, what it brings, the lower of both."""

    label: str
    name: str
    piece_set: PieceSet | None
    count: int
    cost: Decimal
    expected: Expected | None

    @property
    def measure(self) -> Decimal | None:
        """What it is expected to bring after tax and fees, [currency]; None without a price."""
        return self.expected.net if self.expected else None

    @property
    def basis(self) -> str:
        """Where its price comes from, in words."""
        return self.expected.source if self.expected else f"{prices.NO_PRICE}, left at cost"

    @property
    def value(self) -> Decimal:
        """The lower of cost and that, [currency]."""
        return self.cost - self.write_down

    @property
    def write_down(self) -> Decimal:
        """How far cost is above that, [currency]."""
        if self.expected is None:
            return ZERO
        taken = self.expected.tax + self.expected.fees
        return lower_of_cost_and_nrv(self.cost, self.expected.price, taken).write_down


@dataclass(frozen=True)
class Totals:
    """Cost, value and write-down of some rows, [currency]."""

    cost: Decimal
    value: Decimal
    write_down: Decimal


def totals(rows: Sequence[MaterialValue | FinishedValue]) -> Totals:
    """Return the `Totals` of some rows."""
    names = ("cost", "value", "write_down")
    return Totals(*(sum((getattr(row, name) for row in rows), ZERO) for name in names))


@dataclass(frozen=True)
class Valuation:
    """All that a studio has on hand, on one day."""

    on: date
    materials: tuple[MaterialValue, ...]
    finished: tuple[FinishedValue, ...]

    @property
    def total(self) -> Totals:
        """`Totals` of everything."""
        return totals([*self.materials, *self.finished])


def valuation(studio: Studio) -> Valuation:
    """Return the `Valuation` of what a studio has on hand today, in a fixed number of queries."""
    appraised = _appraised(studio)
    book, kinds = cost_book(studio), described_sets(studio)
    earning = _earning(studio, set_profit(studio, book, kinds))
    return Valuation(
        studio.today(),
        tuple(_materials(studio, appraised, earning)),
        tuple(_finished(studio, appraised, book, kinds)),
    )


def _appraised(studio: Studio) -> Appraised:
    """Return {(field, key): appraisal}, the latest that stands for each thing."""
    found: Appraised = {}
    for one in studio.appraisals.filter(withdrawn_at=None):
        name = next(f for f in ("material", "bottle", "piece_set") if getattr(one, f"{f}_id"))
        found.setdefault((name, getattr(one, f"{name}_id")), one)
    return found


def _materials(
    studio: Studio, appraised: Appraised, earning: Mapping[int, Decimal]
) -> Iterator[MaterialValue]:
    bottles: defaultdict[Material, list[Bottle]] = defaultdict(list)
    rows = Bottle.objects.filter(studio=studio, remaining__gt=0).select_related("material")
    for bottle in rows.order_by("material__name", "pk"):
        bottles[bottle.material].append(bottle)
    replacement = replacement_costs(bottles)
    for material, its in bottles.items():
        anew = replacement.get(material.pk)
        items = value_material(
            [_kept(studio, bottle, appraised) for bottle in its],
            anew,
            earning.get(material.pk, -1) >= 0,
        )
        yield MaterialValue(material, tuple(items), anew)


def _kept(studio: Studio, bottle: Bottle, appraised: Appraised) -> Kept:
    """Return a bottle as the arithmetic sees it; its own appraisal goes before its material's."""
    one = appraised.get(("bottle", bottle.pk))
    if one is None:
        one = appraised.get(("material", bottle.material_id))
        if one and bottle.received_on > one.day:  # it was not among what was appraised
            one = None
    value = None if one is None else round(one.value * bottle.remaining / one.quantity, 6)
    last = bottle.keeps_until
    is_expired = last is not None and last < studio.today()
    return Kept(bottle.remaining, bottle.value, value, is_expired)


def _earning(studio: Studio, sales: Iterable[SetProfit]) -> defaultdict[int, Decimal]:
    """Return {material key: profit of everything sold in the last year that was made of it}."""
    since = studio.today() - timedelta(days=SALES_DAYS)
    sold = [row for row in sales if row.sold_on > since and not row.sale.refunded_at]
    used_by = _materials_of_sets(studio, {row.piece_set.pk for row in sold})
    earned: defaultdict[int, Decimal] = defaultdict(Decimal)
    for row in sold:
        for material in used_by[row.piece_set.pk]:
            earned[material] += row.profit.profit
    return earned


def _materials_of_sets(studio: Studio, keys: Collection[int]) -> defaultdict[int | None, set[int]]:
    """Return {set: keys of the materials that its pours, topcoats and packing took}."""
    entries: defaultdict[int | None, set[int | None]] = defaultdict(set)
    pieces = FinishedPiece.objects.filter(piece_set__in=keys)
    pours: defaultdict[int, set[int | None]] = defaultdict(set)
    for key, pour, entry in pieces.values_list("piece_set", "pour", "pour__entry"):
        entries[key].add(entry)
        pours[pour].add(key)
    for pour, entry in Topcoating.objects.filter(pour__in=pours).values_list("pour", "entry"):
        for one in pours[pour]:
            entries[one].add(entry)
    for packed, packing in PieceSet.objects.filter(pk__in=keys).values_list("pk", "entry"):
        entries[packed].add(packing)
    taken: defaultdict[int | None, set[int]] = defaultdict(set)
    moves = Movement.objects.filter(entry__in=set().union(*entries.values()), quantity__lt=0)
    for entry, material in moves.order_by().values_list("entry", "material").distinct():
        taken[entry].add(material)
    used = {key: set().union(*(taken[entry] for entry in its)) for key, its in entries.items()}
    return defaultdict(set, used)


def _finished(
    studio: Studio, appraised: Appraised, book: CostBook, kinds: Mapping[int, Kind]
) -> Iterator[FinishedValue]:
    waiting = list(studio.sets.unsold().order_by("number"))
    price_list = PriceList(studio, kinds, waiting)
    for one in waiting:
        typed = appraised.get(("piece_set", one.pk))
        expected: Expected | None
        if typed:
            expected = Expected(typed.value, ZERO, ZERO, prices.APPRAISED)
        else:
            expected = price_list.of_set(one)
        cost = book.by_set[one.pk].total
        yield FinishedValue(one.label, one.name, one, 1, cost, expected)
    yield from _loose(studio, book, price_list)


def _loose(studio: Studio, book: CostBook, price_list: PriceList) -> Iterator[FinishedValue]:
    """Yield the loose good pieces, those of one pour together: they are alike."""
    pieces = FinishedPiece.objects.filter(studio=studio, state="good", piece_set=None)
    by_pour: defaultdict[Pour, list[int]] = defaultdict(list)
    related = ("pour__surface", "pour__technique", "pour__palette")
    for piece in pieces.select_related(*related).order_by("pour__number", "number"):
        by_pour[piece.pour].append(piece.pk)
    for pour, keys in by_pour.items():
        kind = (pour.surface.name, pour.technique.name, pour.palette.name)
        each, count = price_list.of_piece(kind), len(keys)
        whole = each and Expected(
            each.price * count, each.tax * count, each.fees * count, each.source
        )
        cost = sum((book.by_piece[key].total for key in keys if key in book.by_piece), ZERO)
        words = f"{count} loose piece{'' if count == 1 else 's'}, {', '.join(kind)}"
        yield FinishedValue(str(pour), words, None, count, cost, whole)
