"""What a purchase plan says: lines, orders by supplier, and what other ways would cost."""

from collections.abc import Hashable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.buying.reordering.market import Need


@dataclass(frozen=True)
class PlanLine:
    """So many packs of one offer; ``size`` and ``covers`` in [mL, g or items], money in [minor
    units].

    ``needed_by`` is the first date that this line serves; ``late`` says that it arrives after it.
    ``why`` is the reason in a sentence or two.
    """

    material: Hashable
    pack: Hashable
    supplier: Hashable
    count: int
    size: Decimal
    unit_price: int
    cost: int
    needed_by: date | None
    arrives_on: date | None
    late: bool
    why: str

    @property
    def covers(self) -> Decimal:
        """What the packs contain together, [mL, g or items]."""
        return self.count * self.size


@dataclass(frozen=True)
class SupplierOrder:
    """The lines bought from one supplier and what the order costs, [minor units]."""

    supplier: Hashable
    lines: tuple[PlanLine, ...]
    goods: int
    shipping: int
    arrives_on: date | None

    @property
    def total(self) -> int:
        """Goods and shipping, [minor units]."""
        return self.goods + self.shipping


@dataclass(frozen=True)
class Comparison:
    """What another way of buying the same would cost, [minor units].

    ``way`` is ``"cheapest_packs"`` (each need in the one pack that covers it for least) or
    ``"one_supplier"``; ``proven`` says whether no cheaper basket of that kind exists.
    """

    way: str
    supplier: Hashable | None
    total: int
    saving: int
    proven: bool


@dataclass(frozen=True)
class LeftOut:
    """What a budget did not allow, [minor units].

    ``needs`` are the needs left out, the most pressing first. ``all_total`` is what covers every
    need, and ``next_total`` what covers the first of those left out with all that is bought here;
    each is ``least_proven`` or the least found. ``proven`` says that no purchase within the budget
    covers more.
    """

    needs: tuple[Need, ...]
    all_total: int
    next_total: int
    least_proven: bool
    proven: bool


@dataclass(frozen=True)
class Plan:
    """A purchase that covers every need, or what a budget allows of them, [minor units].

    ``gap`` is the share of the total by which a better plan might still undercut it, 0 when
    ``proven``. ``left_out`` is None unless a budget is too small for everything.
    """

    orders: tuple[SupplierOrder, ...]
    gap: float
    proven: bool
    compared_with: tuple[Comparison, ...]
    left_out: LeftOut | None = None

    @property
    def lines(self) -> tuple[PlanLine, ...]:
        """All lines, supplier by supplier."""
        return tuple(line for order in self.orders for line in order.lines)

    @property
    def goods(self) -> int:
        """Value of all goods, [minor units]."""
        return sum(order.goods for order in self.orders)

    @property
    def shipping(self) -> int:
        """All shipping, [minor units]."""
        return sum(order.shipping for order in self.orders)

    @property
    def total(self) -> int:
        """Landed cost, [minor units]."""
        return self.goods + self.shipping
