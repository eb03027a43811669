"""The least that one material can cost, each pack at one price: a covering knapsack, exactly."""

from collections.abc import Mapping, Sequence
from heapq import heappop, heappush
from math import gcd, inf
from typing import Any, NamedTuple

# Far above what a shelf of packs takes (a few hundred); beyond it the bound alone is given.
MOST_STEPS = 5_000


class CoverPack(NamedTuple):
    """A pack or bundle to cover with: its key, and its size and price in whole numbers, [-].

    It is in time for the amount with number ``first`` and all later ones.
    """

    number: Any
    size: int
    price: int
    first: int = 0


class Cheapest(NamedTuple):
    """A cost that no cover can beat, and the packs that reach it (None if not found in time)."""

    bound: int
    counts: Mapping[Any, int] | None


def cheapest_cover(units: int, packs: Sequence[CoverPack], sooner: Sequence[int] = ()) -> Cheapest:
    """Return the cheapest packs that hold an amount, by best-first search; of those the least.

    Packs are taken largest first, and what is still missing is priced at the best price by size, so
    the first complete cover that is reached is the cheapest, and of equal ones the one that holds
    least. The sizes need no common measure.

    Parameters
    ----------
    units : int
        Amount to cover, [ten-thousandths]
    packs : sequence of CoverPack
        Packs on sale, at least one in time for each amount, [minor units, ten-thousandths]
    sooner : sequence of int
        What of the amount is wanted earlier, the earliest first, which only packs with a ``first``
        up to its number can cover, [ten-thousandths]

    Returns
    -------
    cheapest : Cheapest
        Least cost [minor units] and counts by pack number, [-]

    Examples
    --------
    >>> cheapest_cover(43, [CoverPack(0, 6, 7), CoverPack(1, 9, 10), CoverPack(2, 20, 22)])
    Cheapest(bound=49, counts={2: 1, 1: 2, 0: 1})

    References
    ----------
    P. E. Hart, N. J. Nilsson and B. Raphael, "A formal basis for the heuristic determination of
    minimum cost paths", IEEE Trans. Syst. Sci. Cybern. 4 (1968) 100-107.
    """
    useful = undercut_left_out(units, packs)
    common = gcd(*(pack.size for pack in useful))
    amounts = tuple(-(-amount // common) * common for amount in (*sooner, units))
    best = [_best_from(useful, number) for number in range(len(amounts))]

    def ahead_of(missing: Sequence[int], index: int) -> int | None:
        """Return the least that what is missing costs with the packs from here on, if it can."""
        reach = 0
        for number, amount in enumerate(missing):
            if amount > 0:
                pack = best[number][index]
                if pack is None:
                    return None
                reach = max(reach, -(-amount * pack.price // pack.size))
        return reach

    ahead: list[tuple[int, int, tuple[int, ...], int, int, tuple[int, ...]]]
    ahead = [(ahead_of(amounts, 0) or 0, 0, amounts, 0, 0, ())]
    seen: dict[tuple[tuple[int, ...], int], int] = {}
    for _ in range(MOST_STEPS):
        _, _, missing, first, cost, counts = heappop(ahead)
        if max(missing) <= 0:
            return Cheapest(cost, {useful[i].number: counts.count(i) for i in counts})
        for index in range(first, len(useful)):
            pack = useful[index]
            left = tuple(
                amount - pack.size if number >= pack.first else amount
                for number, amount in enumerate(missing)
            )
            rest, spent = ahead_of(left, index), cost + pack.price
            if rest is not None and spent < seen.get((left, index), inf):
                seen[left, index] = spent
                over = max(0, -left[-1])
                heappush(ahead, (spent + rest, over, left, index, spent, (*counts, index)))
    return Cheapest(ahead[0][0], None)


def undercut_left_out(units: int, packs: Sequence[CoverPack]) -> list[CoverPack]:
    """Return packs, largest first, without those that one as large and as soon undercuts.

    A pack larger than the amount is as good as one that just holds it.

    Parameters
    ----------
    units : int
        The largest amount to cover, [ten-thousandths]
    packs : sequence of CoverPack
        Packs on sale, [minor units, ten-thousandths]

    Returns
    -------
    packs : list of CoverPack
        Those that may be in the cheapest cover of so much or less, [-]
    """
    rest: list[CoverPack] = []
    for pack in sorted(packs, key=lambda p: (-min(p.size, units), p.price, p.size, p.first)):
        if not any(
            other.first <= pack.first and (other.price < pack.price or other[1:3] == pack[1:3])
            for other in reversed(rest)
        ):
            rest.append(pack)
    return rest


def _best_from(packs: Sequence[CoverPack], number: int) -> list[CoverPack | None]:
    """Return for each pack the best price by size from it on, of those in time for an amount."""
    best_by_place: list[CoverPack | None] = []
    best: CoverPack | None = None
    for pack in reversed(packs):
        if pack.first <= number and (
            best is None or pack.price * best.size < best.price * pack.size
        ):
            best = pack
        best_by_place.append(best)
    return best_by_place[::-1]
