"""Lots of one material: which goes first, what it cost, and the average over them."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Generic, NamedTuple, TypeVar

from inventory.stock.costing.amounts import CostingError, apportion, plain, share

Key = TypeVar("Key", bound=Hashable)


class NotEnough(CostingError):
    """Raised when the lots hold less than is to be issued."""

    def __init__(self, quantity: Decimal, on_hand: Decimal) -> None:
        self.quantity = quantity
        self.on_hand = on_hand
        self.missing = quantity - on_hand
        super().__init__(quantity, on_hand)

    def __str__(self) -> str:
        return f"{plain(self.quantity)} is wanted and {plain(self.on_hand)} is on hand: " + (
            f"{plain(self.missing)} is missing."
        )


@dataclass(frozen=True)
class Lot(Generic[Key]):
    """Stock that came in together: its quantity [mL, g or items] and value [currency]."""

    key: Key
    quantity: Decimal
    value: Decimal
    expires_on: date | None = None
    received_on: date | None = None


class Take(NamedTuple, Generic[Key]):
    """What is taken from one lot: quantity [mL, g or items] and value [currency]."""

    key: Key
    quantity: Decimal
    value: Decimal


def issue_order(lots: Iterable[Lot[Key]]) -> list[Lot[Key]]:
    """Return the lots as they are to be used: first to expire, then first received, then by key.

    Parameters
    ----------
    lots : iterable of Lot
        Lots of one material, [mL, g or items]; those without a date come after those with one.

    Returns
    -------
    lots : list of Lot
        The same lots in order.
    """
    return sorted(
        lots,
        key=lambda lot: (
            lot.expires_on is None,
            lot.expires_on or date.max,
            lot.received_on is None,
            lot.received_on or date.max,
            lot.key,
        ),
    )


def issue(lots: Iterable[Lot[Key]], quantity: Decimal) -> list[Take[Key]]:
    """Take a quantity from lots in `issue_order`, each at its own cost.

    A part of a lot takes its share of the lot's value, rounded half up at six places; the last of
    a lot takes all the value that is left, so nothing is lost to rounding.

    Parameters
    ----------
    lots : iterable of Lot
        Lots of one material, quantities and values not negative, [mL, g or items]
    quantity : Decimal
        Amount to take, positive, [mL, g or items, as the lots]

    Returns
    -------
    takes : list of Take
        What each lot gives, in order; lots that give nothing are left out.

    Raises
    ------
    NotEnough
        If the lots hold less than `quantity`.
    CostingError
        If `quantity` is not positive.

    Examples
    --------
    >>> lots = [Lot(1, Decimal(10), Decimal(80)), Lot(2, Decimal(10), Decimal(85))]
    >>> [(take.key, int(take.quantity), str(take.value)) for take in issue(lots, Decimal(14))]
    [(1, 10, '80'), (2, 4, '34.000000')]

    References
    ----------
    IAS 2 Inventories, 25 and 27 (first in, first out).
    """
    if not quantity.is_finite() or quantity <= 0:
        raise CostingError(f"The amount to take must be more than zero, not {plain(quantity)}.")
    ordered = [lot for lot in issue_order(lots) if lot.quantity > 0]
    takes, missing = [], quantity
    for lot in ordered:
        if missing <= 0:
            break
        part = min(lot.quantity, missing)
        takes.append(Take(lot.key, part, share(lot.value, part, lot.quantity)))
        missing -= part
    if missing > 0:
        raise NotEnough(quantity, sum((lot.quantity for lot in ordered), Decimal(0)))
    return takes


def respread(lots: Sequence[Lot[Key]]) -> list[tuple[Key, Decimal]]:
    """Return the changes of value that bring every lot to the average cost.

    Called after a receipt, or anything else that changes the average, this makes `issue` cost by
    moving average. The total is conserved exactly: values are shared by largest remainder.

    Parameters
    ----------
    lots : sequence of Lot
        All lots of one material, quantities not negative, [mL, g or items]

    Returns
    -------
    changes : list of (key, Decimal)
        Signed change of value of each lot that changes, in `issue_order`, [currency]; they add up
        to zero. A lot that is empty gives its value up to the others. With nothing on hand at all
        there is no average and nothing changes.

    Examples
    --------
    >>> lots = [Lot(1, Decimal(10), Decimal(80)), Lot(2, Decimal(10), Decimal(85))]
    >>> [(key, str(change)) for key, change in respread(lots)]
    [(1, '2.500000'), (2, '-2.500000')]

    References
    ----------
    IAS 2 Inventories, 27 (weighted average, calculated as each additional shipment is received).
    """
    ordered = issue_order(lots)
    if not any(lot.quantity > 0 for lot in ordered):
        return []
    total = sum((lot.value for lot in ordered), Decimal(0))
    values = apportion(total, [lot.quantity for lot in ordered])
    changes = [(lot.key, value - lot.value) for lot, value in zip(ordered, values, strict=True)]
    return [(key, change) for key, change in changes if change]
