"""What a thing cost, kept on its row as the ledger's caches are."""

from dataclasses import dataclass, fields
from decimal import Decimal

from django.db import models

from inventory.models.fields import value_field
from inventory.stock.costing import apportion
from studio.money import ZERO


@dataclass(frozen=True)
class ActualCost:
    """What work really took: materials, labour and overhead, [currency], and its minutes, [min]."""

    materials: Decimal = ZERO
    labour: Decimal = ZERO
    overhead: Decimal = ZERO
    minutes: Decimal = ZERO

    def __add__(self, other: "ActualCost") -> "ActualCost":
        return ActualCost(*(getattr(self, name) + getattr(other, name) for name in COST))

    def __sub__(self, other: "ActualCost") -> "ActualCost":
        return ActualCost(*(getattr(self, name) - getattr(other, name) for name in COST))

    def __bool__(self) -> bool:
        return self != NOTHING

    @property
    def total(self) -> Decimal:
        """Materials, labour and overhead, [currency]."""
        return self.materials + self.labour + self.overhead

    def shared(self, count: int) -> "list[ActualCost]":
        """Split into ``count`` equal parts that add up exactly, at six places."""
        equal = [Decimal(1)] * count
        columns = [apportion(getattr(self, name), equal) for name in COST]
        return [ActualCost(*parts) for parts in zip(*columns, strict=True)]


COST = tuple(one.name for one in fields(ActualCost))
COLUMNS = tuple(f"cost_{name}" for name in COST)
NOTHING = ActualCost()


class Costed(models.Model):
    """A row that keeps what it has cost up to now.

    Written only by `pricing.costing.keeping`, in the transaction of the act that changes it;
    `manage.py check_books` proves it.
    """

    cost_materials = value_field("materials that it took", default=ZERO, editable=False)
    cost_labour = value_field("labour that it took", default=ZERO, editable=False)
    cost_overhead = value_field("overhead that it took", default=ZERO, editable=False)
    cost_minutes = value_field("minutes that it took", default=ZERO, editable=False)

    class Meta:
        abstract = True

    @property
    def spent(self) -> ActualCost:
        """What it has cost up to now."""
        return ActualCost(*(getattr(self, column) for column in COLUMNS))

    @spent.setter
    def spent(self, cost: ActualCost) -> None:
        for column, name in zip(COLUMNS, COST, strict=True):
            setattr(self, column, getattr(cost, name))
