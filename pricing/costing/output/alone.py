"""How many of one product can be made if everything goes into it, and what stands in the way."""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from typing import Generic

from pricing.costing.output.errors import OutputError
from pricing.costing.output.runs import Amounts, Stuff, missing


@dataclass(frozen=True)
class Capacity(Generic[Stuff]):
    """How many of a product can be made, [-], and what limits that.

    ``limits`` is what one more would lack, by material [the material's unit]; nothing when no more
    than ``count`` were asked for. With enough of those, ``further`` more could be made [-] before
    ``then`` (materials) ran out too; for that ``to_buy`` would be missing, [the material's unit].
    """

    count: int
    limits: Amounts[Stuff] = field(default_factory=dict)
    further: int = 0
    to_buy: Amounts[Stuff] = field(default_factory=dict)
    then: tuple[Stuff, ...] = ()


def how_many(
    needs_of: Callable[[int], Amounts[Stuff]], available: Amounts[Stuff], most: int
) -> Capacity[Stuff]:
    """Return how many can be made of one product, found on its real needs by bisection.

    Needs are not in proportion to the count, so nothing is divided: a count is tried, doubled while
    it fits, and then closed in on. That is exact as long as more pieces never need less.

    Parameters
    ----------
    needs_of : callable
        Takes a count from 1 and returns what so many need by material, [the material's unit]
    available : mapping of material to Decimal
        What is there of each, [the material's unit]
    most : int
        The largest count to look at, [-]

    Returns
    -------
    capacity : Capacity
        The count, and what limits it, [-]

    Raises
    ------
    OutputError
        If the largest count is below zero.

    Examples
    --------
    Four tiles and a box a set, with 30 tiles and 5 boxes; two more boxes let two more be made.

    >>> from decimal import Decimal
    >>> need = lambda sets: {"tile": Decimal(4 * sets), "box": Decimal(sets)}
    >>> found = how_many(need, {"tile": Decimal(30), "box": Decimal(5)}, most=100)
    >>> found.count, found.limits, found.further, found.to_buy, found.then
    (5, {'box': Decimal('1')}, 2, {'box': Decimal('2')}, ('tile',))
    """
    if most < 0:
        raise OutputError("The most that can be made is not below zero.")
    needs = cache(needs_of)
    count = _largest(lambda number: not missing(needs(number), available), most)
    if count == most:
        return Capacity(count)
    limits = missing(needs(count + 1), available)
    others = {key: amount for key, amount in available.items() if key not in limits}

    def rest(number: int) -> Amounts[Stuff]:
        return {key: need for key, need in needs(number).items() if key not in limits}

    reach = _largest(lambda number: not missing(rest(number), others), most)
    to_buy = missing(needs(reach), available)
    then = () if reach == most else tuple(missing(rest(reach + 1), others))
    return Capacity(count, limits, reach - count, to_buy, then)


def _largest(fits: Callable[[int], bool], most: int) -> int:
    """Return the largest number up to ``most`` that fits, or 0; below one that fits all do."""
    low, step = 0, 1
    while low < most and fits(min(low + step, most)):
        low, step = min(low + step, most), 2 * step
    high = min(low + step, most + 1)  # does not fit, or is past the end
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low
