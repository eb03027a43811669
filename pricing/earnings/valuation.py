"""Stock at the lower of cost and net realisable value, item by item. It posts nothing.

IAS 2 Inventories, 9 and 28-33. Materials are held for use in pieces: as long as what was made of
them sells at cost or above they stay at cost (32); otherwise they are measured by what replacing
them would cost. What has expired brings nothing unless somebody appraised it.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory.models import Material, Movement
from inventory.stock.costing import Valued, lower_of_cost_and_nrv, value_material
from pricing.commissions.owing_then import up_to
from pricing.costing.on_hand import standing_now, standing_on
from pricing.costing.replacement import unit_costs
from pricing.earnings import expected as prices
from pricing.earnings.expected import ExpectedPrice, PricesOnRecord
from pricing.earnings.profit import profit_by, sales_standing
from pricing.earnings.shelf_items import Appraisals, appraisals, items_now, items_on
from pricing.models import FinishedPiece, PieceSet, Pour, Topcoating
from pricing.selling.kinds import Kind, described_sets
from studio.models import Studio
from studio.money import ZERO, add_up, minor_places, to_payable

# How far back sales speak for what pieces bring now: common practice, no source.
SALES_DAYS = 365

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
        """The lower of cost and measure, item by item, [currency]."""
        return sum((item.value for item in self.items), ZERO)

    @property
    def write_down(self) -> Decimal:
        """How far the cost is above the value, [currency]."""
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
    expected: ExpectedPrice | None

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
        """The lower of cost and measure, [currency]."""
        return self.cost - self.write_down

    @property
    def write_down(self) -> Decimal:
        """How far the cost is above the value, [currency]."""
        if self.expected is None:
            return ZERO
        deductions = self.expected.tax + self.expected.fees
        return lower_of_cost_and_nrv(self.cost, self.expected.price, deductions).write_down


@dataclass(frozen=True)
class Totals:
    """Cost, value and write-down of some rows, [currency]."""

    cost: Decimal
    value: Decimal
    write_down: Decimal


def totals(rows: "Sequence[MaterialValue | FinishedValue | ShownValue]") -> Totals:
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


@dataclass(frozen=True)
class ShownValue:
    """A row as it is shown, on pages, in files and on paper; its value is cost less write-down."""

    of: MaterialValue | FinishedValue
    cost: Decimal
    write_down: Decimal
    measure: Decimal | None

    @property
    def value(self) -> Decimal:
        """What it is carried at, [currency]."""
        return self.cost - self.write_down


@dataclass(frozen=True)
class ShownValuation:
    """A `Valuation` as it is shown: its rows add up to its totals to the last minor unit."""

    on: date
    materials: tuple[ShownValue, ...]
    finished: tuple[ShownValue, ...]

    @property
    def materials_total(self) -> Totals:
        """`Totals` of the materials."""
        return totals(self.materials)

    @property
    def finished_total(self) -> Totals:
        """`Totals` of sets and pieces."""
        return totals(self.finished)

    @property
    def total(self) -> Totals:
        """`Totals` of everything."""
        return totals([*self.materials, *self.finished])


def shown_valuation(report: Valuation, currency: str) -> ShownValuation:
    """Return a report rounded to the minor unit of a currency (ISO 4217), see `add_up`."""
    rows: list[MaterialValue | FinishedValue] = [*report.materials, *report.finished]
    places = minor_places(currency)
    costs = add_up([row.cost for row in rows], places)
    write_downs = add_up([row.write_down for row in rows], places)
    measures = [None if row.measure is None else to_payable(row.measure, currency) for row in rows]
    columns = zip(rows, costs, write_downs, measures, strict=True)
    shown = tuple(ShownValue(*column) for column in columns)
    count = len(report.materials)
    return ShownValuation(report.on, shown[:count], shown[count:])


def valuation(studio: Studio, day: date | None = None) -> Valuation:
    """Return the `Valuation` of what a studio has on hand, in a fixed number of queries.

    ``day`` is a past one, at whose end it is told: costs and amounts, appraisals, agreed and last
    prices as they were by then. What products are asked for, what a material costs anew and
    the tax rate are those of today, which no dates are kept of.
    """
    appraised = appraisals(studio, day)
    kinds = described_sets(studio.sets.filter(unpacked_at=None))
    return Valuation(
        day or studio.today(),
        tuple(_materials(studio, appraised, day)),
        tuple(_finished(studio, appraised, kinds, day)),
    )


def _materials(studio: Studio, appraised: Appraisals, day: date | None) -> Iterator[MaterialValue]:
    stock = items_on(studio, day, appraised) if day else items_now(studio, appraised)
    replacement, earning = unit_costs(studio, stock), _earning(studio, day)
    for material, items in stock.items():
        anew = replacement.get(material.pk)
        covers_cost = earning.get(material.pk, -1) >= 0
        yield MaterialValue(material, tuple(value_material(items, anew, covers_cost)), anew)


def _earning(studio: Studio, day: date | None) -> defaultdict[int, Decimal]:
    """Return {material key: profit of everything sold in the last year that was made of it}."""
    since = (day or studio.today()) - timedelta(days=SALES_DAYS)
    sold = sales_standing(studio, since, day)
    profits = {key: one.profit for (key,), one in profit_by(sold, "line__piece_set").items()}
    used_by = _materials_of_sets(profits, day)
    earned: defaultdict[int, Decimal] = defaultdict(Decimal)
    for key, profit in profits.items():
        for material in used_by[key]:
            earned[material] += profit
    return earned


def _materials_of_sets(
    keys: Collection[int], day: date | None
) -> defaultdict[int | None, set[int]]:
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
    by_entry: defaultdict[int | None, set[int]] = defaultdict(set)
    moves = Movement.objects.filter(entry__in=set().union(*entries.values()), quantity__lt=0)
    moves = moves.filter(**up_to("entry__booked_on", day))
    for entry, material in moves.order_by().values_list("entry", "material").distinct():
        by_entry[entry].add(material)
    by_set = {key: set().union(*(by_entry[entry] for entry in its)) for key, its in entries.items()}
    return defaultdict(set, by_set)


def _finished(
    studio: Studio, appraised: Appraisals, kinds: Mapping[int, Kind], day: date | None
) -> Iterator[FinishedValue]:
    costs = standing_on(studio, "piece_set", day) if day else None
    there = studio.sets.unsold() if costs is None else studio.sets.filter(pk__in=costs)
    waiting = list(there.order_by("number"))
    price_list = PricesOnRecord(studio, kinds, waiting, day)
    for one in waiting:
        typed = appraised.get(("piece_set", one.pk))
        expected: ExpectedPrice | None
        if typed:
            expected = ExpectedPrice(typed.value, ZERO, ZERO, prices.APPRAISED)
        else:
            expected = price_list.of_set(one)
        cost = one.spent.total if costs is None else costs[one.pk].cost
        yield FinishedValue(one.label, one.name, one, 1, cost, expected)
    yield from _loose(studio, price_list, day)


def _loose(studio: Studio, price_list: PricesOnRecord, day: date | None) -> Iterator[FinishedValue]:
    """Yield the loose good pieces, those of one pour together: they are alike.

    A test tile is not for sale, so it is expected to bring nothing.
    """
    there = standing_on(studio, "pour", day) if day else standing_now("pour", studio=studio)
    made_of = ("surface", "technique", "palette", "line")
    pours = Pour.objects.filter(pk__in=there).select_related(*made_of)
    for pour in pours.order_by("number"):
        count, cost = there[pour.pk].count, there[pour.pk].cost
        kind = (pour.surface.name, pour.technique.name, pour.palette.name)
        is_tile = pour.line is not None and pour.line.is_test
        each = None if is_tile else price_list.of_piece(kind)
        whole = each and ExpectedPrice(
            each.price * count, each.tax * count, each.fees * count, each.source
        )
        what = "test tile" if is_tile else "loose piece"
        words = f"{count} {what}{'' if count == 1 else 's'}, {', '.join(kind)}"
        yield FinishedValue(str(pour), words, None, count, cost, whole)
