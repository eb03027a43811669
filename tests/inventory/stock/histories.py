"""A plain history of purchases and issues, costed by either method."""

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import NamedTuple

from inventory.stock.costing import CostingError, Lot, issue, issue_order, respread

METHODS = ("fifo", "moving_average")


class Buy(NamedTuple):
    """A receipt in a plain history: quantity [mL, g or items] and its whole value [currency]."""

    quantity: Decimal
    value: Decimal


class Sell(NamedTuple):
    """An issue in a plain history: quantity [mL, g or items]."""

    quantity: Decimal


@dataclass(frozen=True)
class Replay:
    """A history costed: the value of each issue in order, [currency], and the lots left."""

    issues: tuple[Decimal, ...]
    lots: tuple[Lot, ...]

    @property
    def cost_of_goods_sold(self) -> Decimal:
        """Value of all issues, [currency]."""
        return sum(self.issues, Decimal(0))

    @property
    def on_hand_quantity(self) -> Decimal:
        """Quantity left, [mL, g or items]."""
        return sum((lot.quantity for lot in self.lots), Decimal(0))

    @property
    def on_hand_value(self) -> Decimal:
        """Value left, [currency]."""
        return sum((lot.value for lot in self.lots), Decimal(0))


def replay(events: Iterable[Buy | Sell], method: str) -> Replay:
    """Cost a plain history of purchases and issues of one material.

    Parameters
    ----------
    events : iterable of Buy or Sell
        The history in order, [mL, g or items]
    method : str
        ``"fifo"`` or ``"moving_average"``, [-]

    Returns
    -------
    replay : Replay
        Value of each issue and the lots left, [currency]

    Raises
    ------
    NotEnough
        If more is issued than was bought by then.
    CostingError
        If the method is not one of the two.

    Examples
    --------
    >>> history = [Buy(Decimal(10), Decimal(80)), Buy(Decimal(10), Decimal(85)), Sell(Decimal(10))]
    >>> [float(replay(history, method).cost_of_goods_sold) for method in METHODS]
    [80.0, 82.5]
    """
    if method not in METHODS:
        raise CostingError(f"The costing method is fifo or moving_average, not {method}.")
    lots: dict[Hashable, Lot] = {}
    issues = []
    for number, event in enumerate(events):
        if isinstance(event, Buy):
            lots[number] = Lot(number, event.quantity, event.value)
            if method == "moving_average":
                for key, change in respread(list(lots.values())):
                    lots[key] = replace(lots[key], value=lots[key].value + change)
            continue
        takes = issue(lots.values(), event.quantity)
        for take in takes:
            left = lots.pop(take.key)
            if take.quantity < left.quantity:
                lots[take.key] = replace(
                    left, quantity=left.quantity - take.quantity, value=left.value - take.value
                )
        issues.append(sum((take.value for take in takes), Decimal(0)))
    return Replay(tuple(issues), tuple(issue_order(lots.values())))
