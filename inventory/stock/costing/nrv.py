"""What stock may be carried at: its cost or what it would bring, whichever is lower."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple

from inventory.stock.costing.amounts import CostingError
from studio.money import VALUE_PLACES, ZERO

# What an item was measured by.
APPRAISED = "appraised"
EXPIRED = "expired"
COVERED = "covered"
REPLACEMENT = "replacement"
UNKNOWN = "unknown"


class Carried(NamedTuple):
    """What stock may be carried at, all in [currency]."""

    net_realisable_value: Decimal
    value: Decimal
    write_down: Decimal


@dataclass(frozen=True)
class StockItem:
    """One bottle or lot: its quantity [mL, g or items] and its cost [currency].

    ``appraised`` is what somebody said that all of it would bring, [currency].
    """

    quantity: Decimal
    cost: Decimal
    appraised: Decimal | None = None
    is_expired: bool = False


@dataclass(frozen=True)
class Valued:
    """One item measured: its cost and what it may be carried at, [currency].

    ``measure`` is what it would bring or what replacing it would cost, and None where there is
    nothing to measure it by or, as IAS 2.32 has it, no need to; ``basis`` says which.
    """

    quantity: Decimal
    cost: Decimal
    basis: str
    measure: Decimal | None

    @property
    def value(self) -> Decimal:
        """The lower of cost and measure, [currency]."""
        return self.cost if self.measure is None else min(self.cost, self.measure)

    @property
    def write_down(self) -> Decimal:
        """How far cost is above that, [currency]."""
        return self.cost - self.value


def lower_of_cost_and_nrv(
    cost: Decimal,
    price: Decimal,
    completion_costs: Decimal = Decimal(0),
    finished_goods_cover_cost: bool = False,
) -> Carried:
    """Return what an item may be carried at: its cost, or what selling it would bring, if lower.

    Computed afresh from cost each time, so a write-down that is no longer needed goes back, and
    never by more than was written down.

    Parameters
    ----------
    cost : Decimal
        What it cost, [currency]
    price : Decimal
        What it is expected to sell for, [currency]
    completion_costs : Decimal
        What finishing and selling it will still cost, [currency]
    finished_goods_cover_cost : bool
        Whether it is a material whose finished pieces sell at cost or above, [-]; such materials
        are not written down.

    Returns
    -------
    carried : Carried
        Net realisable value, carrying value and write-down, [currency]

    Examples
    --------
    >>> lower_of_cost_and_nrv(Decimal(430), Decimal(500), Decimal(100)).write_down
    Decimal('30')

    References
    ----------
    IAS 2 Inventories, 6, 9, 29 and 32-34.
    """
    net_realisable_value = price - completion_costs
    value = cost if finished_goods_cover_cost else min(cost, max(net_realisable_value, Decimal(0)))
    return Carried(net_realisable_value, value, cost - value)


def value_material(
    stock: Sequence[StockItem],
    replacement: Decimal | None,
    products_cover_cost: bool = False,
) -> list[Valued]:
    """Return the items of one material, each at the lower of its cost and its measure.

    A bottle that somebody appraised is an item of its own, and so is one that has expired, which
    brings nothing unless it was appraised. All other bottles are interchangeable and one item
    together: not written down while what is made of them sells at cost or above, and otherwise
    measured by what replacing them would cost.

    Parameters
    ----------
    stock : sequence of StockItem
        The bottles of one material, nothing negative, [mL, g or items] and [currency]
    replacement : Decimal or None
        What buying one unit anew would cost, None if unknown, [currency per mL, g or item]
    products_cover_cost : bool
        Whether what is made of it is expected to sell at cost or above, [-]

    Returns
    -------
    items : list of Valued
        The bottles apart in the order given, then the others as one, [currency]; their costs add
        up to the cost of all bottles. An item without a known measure stays at cost.

    Raises
    ------
    CostingError
        If an amount is below zero.

    Examples
    --------
    100 mL that cost 8.00, of which a new bottle now costs 0.05 a mL:

    >>> rest = StockItem(Decimal(100), Decimal("8.00"))
    >>> (item,) = value_material([rest], Decimal("0.05"))
    >>> item.basis, float(item.measure), float(item.write_down)
    ('replacement', 5.0, 3.0)
    >>> value_material([rest], Decimal("0.05"), products_cover_cost=True)[0].write_down
    Decimal('0.00')

    References
    ----------
    IAS 2 Inventories, 9, 28 (damaged or obsolete stock), 29 (item by item) and 32 (materials held
    for production, and replacement cost as the best available measure).
    """
    amounts = [
        amount for one in stock for amount in (one.quantity, one.cost, one.appraised or ZERO)
    ]
    if any(not amount.is_finite() or amount < 0 for amount in (*amounts, replacement or ZERO)):
        raise CostingError("Quantities, costs and values of stock are never below zero.")
    apart, rest = [], []
    for one in stock:
        if one.appraised is not None:
            apart.append(Valued(one.quantity, one.cost, APPRAISED, one.appraised))
        elif one.is_expired:
            apart.append(Valued(one.quantity, one.cost, EXPIRED, ZERO))
        else:
            rest.append(one)
    return [*apart, *_together(rest, replacement, products_cover_cost)]


def _together(
    rest: Sequence[StockItem], replacement: Decimal | None, products_cover_cost: bool
) -> list[Valued]:
    """Return bottles that are interchangeable as one item, or none."""
    quantity = sum((one.quantity for one in rest), ZERO)
    cost = sum((one.cost for one in rest), ZERO)
    if not quantity:
        return []
    if products_cover_cost:
        return [Valued(quantity, cost, COVERED, None)]
    if replacement is None:
        return [Valued(quantity, cost, UNKNOWN, None)]
    measure = (quantity * replacement).quantize(VALUE_PLACES, ROUND_HALF_UP)
    return [Valued(quantity, cost, REPLACEMENT, measure)]
