"""The least that one need can cost, each pack at one price: a covering knapsack, solved exactly."""

from collections.abc import Mapping, Sequence
from heapq import heappop, heappush
from typing import Any, NamedTuple

# Far above what a shelf of packs takes (a few hundred); beyond it the bound alone is given.
MOST_STEPS = 5_000


class Pack(NamedTuple):
    """A pack or bundle to cover with: its key, and its size and price in whole numbers, [-]."""

    number: Any
    size: int
    price: int


class Cheapest(NamedTuple):
    """A cost that no cover can beat, and the packs that reach it (None if not found in time)."""

    bound: int
    counts: Mapping[Any, int] | None


def cheapest_cover(units: int, packs: Sequence[Pack]) -> Cheapest:
    """Return the cheapest packs that hold an amount, by best-first search.

    Packs are taken largest first, and what is still missing is priced at the best price by size, so
    the first complete cover that is reached is the cheapest. The sizes need no common measure.

    Parameters
    ----------
    units : int
        Amount to cover, [ten-thousandths]
    packs : sequence of Pack
        Packs on sale, at least one, [minor units, ten-thousandths]

    Returns
    -------
    cheapest : Cheapest
        Least cost [minor units] and counts by pack number, [-]

    Examples
    --------
    >>> cheapest_cover(43, [Pack(0, 6, 7), Pack(1, 9, 10), Pack(2, 20, 22)])
    Cheapest(bound=49, counts={2: 1, 1: 2, 0: 1})

    References
    ----------
    P. E. Hart, N. J. Nilsson and B. Raphael, "A formal basis for the heuristic determination of
    minimum cost paths", IEEE Trans. Syst. Sci. Cybern. 4 (1968) 100-107.
    """
    useful = _useful(units, packs)
    # The best price by size from each pack on, as (price, size).
    best = [min(useful[i:], key=lambda p: p.price / p.size) for i in range(len(useful))]
    ahead: list[tuple[int, int, int, int, tuple]] = [(_at_least(units, best[0]), units, 0, 0, ())]
    for _ in range(MOST_STEPS):
        _, missing, first, cost, taken = heappop(ahead)
        if missing <= 0:
            return Cheapest(cost, {number: taken.count(number) for number in taken})
        for index in range(first, len(useful)):
            pack = useful[index]
            left, spent = missing - pack.size, cost + pack.price
            reach = spent + (_at_least(left, best[index]) if left > 0 else 0)
            heappush(ahead, (reach, left, index, spent, (*taken, pack.number)))
    return Cheapest(ahead[0][0], None)


def _useful(units: int, packs: Sequence[Pack]) -> list[Pack]:
    """Return packs, largest first, without those that a larger one undercuts.

    A pack larger than the amount is as good as one that just holds it.
    """
    kept: list[Pack] = []
    clipped = [Pack(pack.number, min(pack.size, units), pack.price) for pack in packs]
    for pack in sorted(clipped, key=lambda p: (-p.size, p.price, p.number)):
        if not kept or pack.price < kept[-1].price:
            kept.append(pack)
    return kept


def _at_least(units: int, best: Pack) -> int:
    return -(-units * best.price // best.size)
