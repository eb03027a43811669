"""What a budget covers: the most pressing needs first, each wholly or not at all."""

from collections.abc import Callable, Hashable, Sequence
from typing import NamedTuple

from inventory.buying.reordering.baskets import cheapest_packs
from inventory.buying.reordering.covering import Market
from inventory.buying.reordering.market import MaterialNeed
from inventory.buying.reordering.solving import least_conceivable


class Afforded(NamedTuple):
    """The needs that a budget covers and those it does not, both in order of importance.

    ``proven`` says that no purchase within the budget covers more in that order.
    """

    covered: tuple[MaterialNeed[Hashable], ...]
    left_out: tuple[MaterialNeed[Hashable], ...]
    proven: bool


def afford(
    needs: Sequence[MaterialNeed[Hashable]],
    budget: int,
    market_of: Callable[[Sequence[MaterialNeed[Hashable]]], Market],
    least: Callable[[Market], tuple[int, int]],
) -> Afforded:
    """Return the needs to cover with a budget that is too small for all of them.

    The objective is lexicographic in `MaterialNeed.urgency`: dated needs by date, then the undated
    by rank. A need is covered whenever that is possible beside all those before it that are; a less
    pressing one never pushes out a more pressing one, and takes what money is left over. A trial
    may buy packs of what it leaves out, where that is the cheapest way to a least order or to lower
    shipping. So all trials choose among the same baskets, and covering more never costs less: the
    first need to leave out is found by halving, and each later one is tried once. A trial asks a
    bound and a quick basket first, and the solver only in between.

    Parameters
    ----------
    needs : sequence of MaterialNeed
        All needs, more than the budget covers, [mL, g or items]
    budget : int
        Most that may be spent, shipping included, [minor units]
    market_of : callable
        Takes needs and returns their `Market`, always of the same offers, [ten-thousandths]
    least : callable
        Takes a market; returns the least cost found for it and one that nothing can beat,
        [minor units]

    Returns
    -------
    afforded : Afforded
        Needs covered and left out, [-]
    """
    proven = True

    def fits(some: Sequence[MaterialNeed[Hashable]]) -> bool:
        nonlocal proven
        market = market_of(some)
        if least_conceivable(market) > budget:
            return False
        if market.total(cheapest_packs(market)) <= budget:
            return True
        total, bound = least(market)
        proven = proven and (total <= budget or bound > budget)
        return total <= budget

    order = sorted(needs, key=lambda need: need.urgency)
    few, many = 0, len(order)
    while many - few > 1:
        middle = (few + many) // 2
        few, many = (middle, many) if fits(order[:middle]) else (few, middle)
    covered, left_out = order[:few], [order[few]]
    for need in order[few + 1 :]:
        (covered if fits([*covered, need]) else left_out).append(need)
    return Afforded(tuple(covered), tuple(left_out), proven)
