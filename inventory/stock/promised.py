"""What is promised to each work, what of it is there, and when sent orders bring the rest."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import F

from inventory.models import Hold, OrderLine, PurchaseOrder
from inventory.stock.holds import coverage
from studio.models import Studio


@dataclass(frozen=True)
class IncomingStock:
    """What a sent order still brings of one material, [its unit], and when; None if not known."""

    material_id: int
    quantity: Decimal
    expected_on: date | None
    number: int


@dataclass(frozen=True)
class Promise:
    """One hold: how much of it is on hand, what it lacks, and when orders bring all of that.

    ``there_on`` is None when nothing is lacking, when orders do not bring enough, and when an order
    it waits for has no date; ``on_order`` is how much of what it lacks is on its way, and None of
    a past day, of which that is not kept.
    """

    hold: Hold
    covered: Decimal
    on_order: Decimal | None
    there_on: date | None

    @property
    def lacking(self) -> Decimal:
        """What is not on hand of it, [the material's unit]."""
        return self.hold.outstanding - self.covered

    @property
    def to_buy(self) -> Decimal | None:
        """What is neither on hand nor on order, [the material's unit]; None of a past day."""
        return None if self.on_order is None else self.lacking - self.on_order

    @property
    def is_late(self) -> bool | None:
        """Whether the work is to start before everything for it is there; None of a past day."""
        if self.on_order is None:
            return None
        needed = self.hold.needed_by
        return bool(self.lacking and needed and (self.there_on is None or self.there_on > needed))


@dataclass
class PromisedWork:
    """All that is promised to one piece of work; apps above fill in what they know it as."""

    work_id: int
    label: str
    needed_by: date | None
    promises: tuple[Promise, ...]
    commission: object = None

    @property
    def is_covered(self) -> bool:
        """Whether everything for it is on hand."""
        return not any(promise.lacking for promise in self.promises)


def stock_on_order(studio: Studio) -> dict[int, list[IncomingStock]]:
    """Return {material key: [`IncomingStock`, soonest first]} of all sent orders, in one query.

    An order that should have been here already is expected today.
    """
    lines = OrderLine.objects.filter(
        order__studio=studio, order__status__in=PurchaseOrder.OPEN, received_count__lt=F("count")
    )
    today, coming_by_material = studio.today(), defaultdict(list)
    for line in lines.select_related("pack", "order").order_by("order__number", "pk"):
        day = line.order.expected_on
        quantity = (line.count - line.received_count) * line.pack.size
        arrival = IncomingStock(
            line.pack.material_id, quantity, day and max(day, today), line.order.number
        )
        coming_by_material[arrival.material_id].append(arrival)
    for rows in coming_by_material.values():
        rows.sort(key=lambda row: (row.expected_on is None, row.expected_on or date.max))
    return coming_by_material


def promised_works(studio: Studio) -> list[PromisedWork]:
    """Return every `PromisedWork` with an open hold, first needed first, in three queries.

    Stock on hand and what is on its way are each shared out once, first promised first served, so
    that no two works count on the same millilitre.
    """
    left = {
        material: [[row.quantity, row.expected_on] for row in rows]
        for material, rows in stock_on_order(studio).items()
    }
    works = defaultdict(list)
    for hold, covered in coverage(studio).items():
        if hold.outstanding:
            works[hold.work_id].append(_promise(hold, covered, left.get(hold.material_id, [])))
    return in_order(work_of(pk, promises) for pk, promises in works.items())


def in_order(works: Iterable[PromisedWork]) -> list[PromisedWork]:
    """Return works, first needed first."""
    return sorted(works, key=lambda work: (work.needed_by is None, work.needed_by or date.max))


def _promise(hold: Hold, covered: Decimal, coming: Iterable[list[Any]]) -> Promise:
    """Take what a hold lacks from what is on its way, which is then no longer there for others."""
    lacking, days = hold.outstanding - covered, []
    missing = lacking
    for row in coming:
        part = min(missing, row[0])
        if part:
            row[0] -= part
            missing -= part
            days.append(row[1])
    is_dated = days and not missing and None not in days
    return Promise(hold, covered, lacking - missing, max(days) if is_dated else None)


def work_of(pk: int, promises: Sequence[Promise]) -> PromisedWork:
    """Return a work with its promises, what it lacks first."""
    first = promises[0].hold
    ordered = sorted(
        promises, key=lambda promise: (not promise.lacking, promise.hold.material.name)
    )
    return PromisedWork(pk, first.label, first.needed_by, tuple(ordered))
