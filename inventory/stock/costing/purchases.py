"""What purchased stock cost to have on the shelf."""

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from inventory.stock.costing.amounts import CostingError, apportion, plain


class DeliveryLine(NamedTuple):
    """One line of a delivery: quantity [mL, g or items] and price of the whole line [currency]."""

    quantity: Decimal
    price: Decimal


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
