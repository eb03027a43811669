"""What a purchase plan says: lines, orders by supplier, and what other ways would cost.

Materials, packs and suppliers are the keys that were given, and money is in whole minor units,
[units]. The service that plans for a studio puts its rows and its currency in their place.
"""

from collections.abc import Hashable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Generic, TypeVar

from inventory.buying.reordering.market import MaterialNeed, MaterialT

PackT = TypeVar("PackT", bound=Hashable, covariant=True)
SupplierT = TypeVar("SupplierT", bound=Hashable, covariant=True)
Money = int | Decimal  # [units]: minor units, or the currency of a studio


@dataclass(frozen=True)
class PlanLine(Generic[MaterialT, PackT, SupplierT]):
    """So many packs of one offer; ``size`` and ``covers`` in [mL, g or items].

    ``needed_by`` is the first date that this line serves; ``late`` says that it arrives after it.
    ``why`` is the reason in a sentence or two; ``last_paid`` is what the last such pack cost, where
    that is known, [units].
    """

    material: MaterialT
    pack: PackT
    supplier: SupplierT
    count: int
    size: Decimal
    unit_price: Money
    cost: Money
    needed_by: date | None
    arrives_on: date | None
    late: bool
    why: str
    last_paid: Money | None = None

    @property
    def covers(self) -> Decimal:
        """What the packs contain together, [mL, g or items]."""
        return self.count * self.size


@dataclass(frozen=True)
class SupplierOrder(Generic[MaterialT, PackT, SupplierT]):
    """The lines bought from one supplier and what the order costs, [units]."""

    supplier: SupplierT
    lines: tuple[PlanLine[MaterialT, PackT, SupplierT], ...]
    goods: Money
    shipping: Money
    arrives_on: date | None

    @property
    def total(self) -> Money:
        """Goods and shipping, [units]."""
        return self.goods + self.shipping


@dataclass(frozen=True)
class Comparison(Generic[SupplierT]):
    """What another way of buying the same would cost, [units].

    ``way`` is ``"cheapest_packs"`` (each need in the one pack that covers it for least) or
    ``"one_supplier"``; ``proven`` says whether no cheaper basket of that kind exists.
    """

    way: str
    supplier: SupplierT | None
    total: Money
    saving: Money
    proven: bool


@dataclass(frozen=True)
class LeftOut(Generic[MaterialT]):
    """What a budget did not allow, [units].

    ``needs`` are the needs left out, the most pressing first. ``all_total`` is what covers every
    need, and ``next_total`` what covers the first of those left out with all that is bought here;
    each is ``least_proven`` or the least found. ``proven`` says that no purchase within the budget
    covers more.
    """

    needs: tuple[MaterialNeed[MaterialT], ...]
    all_total: Money
    next_total: Money
    least_proven: bool
    proven: bool


@dataclass(frozen=True)
class PurchasePlan(Generic[MaterialT, PackT, SupplierT]):
    """A purchase that covers every need, or what a budget allows of them, [units].

    ``gap`` is the share of the total by which a better plan might still undercut it, 0 when
    ``proven``. ``left_out`` is None unless the budget is too small for everything.
    ``notes`` are sentences on what it cannot do, and why.
    """

    orders: tuple[SupplierOrder[MaterialT, PackT, SupplierT], ...]
    gap: float
    proven: bool
    compared_with: tuple[Comparison[SupplierT], ...]
    left_out: LeftOut[MaterialT] | None = None
    made_on: date | None = None
    budget: Money | None = None
    notes: tuple[str, ...] = ()

    @property
    def lines(self) -> tuple[PlanLine[MaterialT, PackT, SupplierT], ...]:
        """All lines, supplier by supplier."""
        return tuple(line for order in self.orders for line in order.lines)

    @property
    def goods(self) -> Money:
        """Value of all goods, [units]."""
        return sum(order.goods for order in self.orders)

    @property
    def shipping(self) -> Money:
        """All shipping, [units]."""
        return sum(order.shipping for order in self.orders)

    @property
    def total(self) -> Money:
        """Landed cost, [units]."""
        return self.goods + self.shipping


# What the arithmetic itself returns, by the keys that it was given.
KeyLine = PlanLine[Hashable, Hashable, Hashable]
KeyOrder = SupplierOrder[Hashable, Hashable, Hashable]
KeyPlan = PurchasePlan[Hashable, Hashable, Hashable]
