"""What purchased stock cost to have on the shelf, and what it may be carried at."""

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from inventory.costing.amounts import CostingError, apportion, plain


class DeliveryLine(NamedTuple):
    """One line of a delivery: quantity [mL, g or items] and price of the whole line [currency]."""

    quantity: Decimal
    price: Decimal


class Carried(NamedTuple):
    """What stock may be carried at, all in [currency]."""

    net_realisable_value: Decimal
    value: Decimal
    write_down: Decimal


def landed(
    lines: Sequence[DeliveryLine],
    discount: Decimal = Decimal(0),
    freight: Decimal = Decimal(0),
    duty: Decimal = Decimal(0),
) -> list[Decimal]:
    """Return what each line of a delivery cost to have on the shelf.

    A line's value is its price less its share of the discount plus its share of freight and duty,
    shared by price, or by quantity when every line is free.

    Parameters
    ----------
    lines : sequence of DeliveryLine
        Quantity [mL, g or items] and price of each whole line, none negative, [currency]
    discount : Decimal
        Discount or rebate on the delivery, not more than the goods, [currency]
    freight : Decimal
        Transport and handling, [currency]
    duty : Decimal
        Import duty and taxes that cannot be claimed back, [currency]

    Returns
    -------
    values : list of Decimal
        Value of each line, adding up to goods - discount + freight + duty exactly, [currency]

    Raises
    ------
    CostingError
        If there is no line, an amount is negative, or the discount is more than the goods.

    Examples
    --------
    >>> goods = [DeliveryLine(Decimal(500), Decimal(30)), DeliveryLine(Decimal(250), Decimal(10))]
    >>> [str(value) for value in landed(goods, discount=Decimal(4), freight=Decimal(8))]
    ['33.000000', '11.000000']

    References
    ----------
    IAS 2 Inventories, 11 (costs of purchase).
    """
    amounts = [discount, freight, duty, *(amount for line in lines for amount in line)]
    if not lines or any(not amount.is_finite() or amount < 0 for amount in amounts):
        raise CostingError("A delivery needs at least one line, and no amount below zero.")
    goods = sum((price for _, price in lines), Decimal(0))
    if discount > goods:
        raise CostingError(
            f"The discount of {plain(discount)} is more than the goods at {plain(goods)}."
        )
    weights = [price if goods else quantity for quantity, price in lines]
    if not any(weights):
        raise CostingError("A delivery whose lines are all free needs a quantity on each.")
    return apportion(goods - discount + freight + duty, weights)


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
