"""A purchase plan with the studio's own rows and money."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.buying.reordering import Need
from inventory.models import Pack, Supplier
from studio.money import ZERO


@dataclass(frozen=True)
class PlanLine:
    """So many of one pack, and why; ``last_paid`` is what the last such pack cost, or None."""

    pack: Pack
    count: int
    unit_price: Decimal
    cost: Decimal
    covers: Decimal
    last_paid: Decimal | None
    needed_by: date | None
    arrives_on: date
    late: bool
    why: str

    @property
    def material(self):
        """What is in the pack."""
        return self.pack.material


@dataclass(frozen=True)
class PlanOrder:
    """What to buy from one supplier, and what that comes to."""

    supplier: Supplier
    lines: tuple[PlanLine, ...]
    goods: Decimal
    shipping: Decimal
    arrives_on: date

    @property
    def total(self):
        """Goods and shipping, [currency]."""
        return self.goods + self.shipping


@dataclass(frozen=True)
class Comparison:
    """What buying the same another way would cost: each item at its cheapest pack, or all from one
    ``supplier``; ``proven`` when that way costs no less."""

    way: str
    supplier: Supplier | None
    total: Decimal
    saving: Decimal
    proven: bool


@dataclass(frozen=True)
class LeftOut:
    """What a budget did not allow: ``needs``, each a `Need` of a material, most pressing first.

    ``all_total`` covers everything, ``next_total`` the first of those left out besides what is
    bought; ``proven`` says that nothing within the budget covers more.
    """

    needs: tuple[Need, ...]
    all_total: Decimal
    next_total: Decimal
    proven: bool


@dataclass(frozen=True)
class Plan:
    """The purchase of least landed cost. ``notes`` are sentences on what it cannot do, and why."""

    made_on: date
    orders: tuple[PlanOrder, ...]
    compared_with: tuple[Comparison, ...]
    notes: tuple[str, ...]
    proven: bool
    gap: float
    budget: Decimal | None = None
    left_out: LeftOut | None = None

    @property
    def lines(self):
        """All lines, supplier by supplier."""
        return tuple(line for order in self.orders for line in order.lines)

    @property
    def goods(self):
        """Value of all goods, [currency]."""
        return sum((order.goods for order in self.orders), ZERO)

    @property
    def shipping(self):
        """All shipping, [currency]."""
        return sum((order.shipping for order in self.orders), ZERO)

    @property
    def total(self):
        """Landed cost, [currency]."""
        return self.goods + self.shipping
