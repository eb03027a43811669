"""The purchase as a mixed-integer programme over packs and shipping tiers."""

from collections import defaultdict
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from math import gcd, inf

import numpy as np
from scipy.sparse import csr_array

from inventory.reordering.covering import Market
from inventory.reordering.market import Offer, Supplier


@dataclass
class Programme:
    """Columns (all integer from 0) and rows of a programme that is being built."""

    costs: list[float] = field(default_factory=list)
    highest: list[int] = field(default_factory=list)
    rows: list[Mapping[int, float]] = field(default_factory=list)
    least: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)

    def column(self, cost: float, highest: int) -> int:
        """Add a whole number from 0 to ``highest`` at a cost each, and return its index."""
        self.costs.append(cost)
        self.highest.append(highest)
        return len(self.costs) - 1

    def row(self, entries: Mapping[int, float], least: float = -inf, most: float = inf) -> None:
        """Keep a weighted sum of columns between two bounds."""
        self.rows.append(entries)
        self.least.append(least)
        self.most.append(most)

    def matrix(self) -> csr_array:
        """Return the rows as a sparse matrix."""
        starts = np.cumsum([0, *(len(row) for row in self.rows)])
        columns = [column for row in self.rows for column in row]
        weights = [float(weight) for row in self.rows for weight in row.values()]
        return csr_array((weights, columns, starts), shape=(len(self.rows), len(self.costs)))


def build(market: Market, excess_weight: float = 0.0) -> tuple[Programme, list[list[int]]]:
    """Return the programme of a market, and the columns that count packs of each offer.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]
    excess_weight : float
        Cost of bringing as much again as is needed of a material, [minor units]

    Returns
    -------
    programme : Programme
        The programme to minimise, [minor units]
    counts : list of list of int
        For each offer the columns, one a price level, whose sum is its number of packs, [-]
    """
    programme = Programme()
    goods: dict[Hashable, dict[int, float]] = defaultdict(dict)
    opened: dict[Hashable, dict[int, int]] = {}
    for key in sorted({offer.supplier for offer in market.offers}, key=str):
        opened[key] = _open_supplier(programme, market.suppliers[key])
    counts, needed = [], market.needed
    for offer, size in zip(market.offers, market.sizes, strict=True):
        share = excess_weight * size / needed[offer.material]
        top = _most_packs(offer, needed[offer.material], market.suppliers[offer.supplier])
        columns = _count_packs(programme, offer, top, share, opened[offer.supplier])
        for column, level in zip(columns, offer.levels, strict=True):
            goods[offer.supplier][column] = level.price
        counts.append(columns)
    for key, tiers in opened.items():
        thresholds = {column: tier for column, tier in tiers.items() if tier}
        if thresholds:
            least = {column: -goods_from for column, goods_from in thresholds.items()}
            programme.row({**goods[key], **least}, least=0)
    _cover_needs(programme, market, counts)
    return programme, counts


def _open_supplier(programme: Programme, supplier: Supplier) -> dict[int, int]:
    """Add one yes-or-no column a shipping tier; return the goods that each asks for.

    A supplier without fee and least order needs none: ordering there is always open.
    """
    tiers = supplier.tiers
    if len(tiers) == 1 and tiers[0] == (0, 0):
        return {}
    columns = {programme.column(tier.fee, 1): tier.goods_from for tier in tiers}
    if len(columns) > 1:
        programme.row(dict.fromkeys(columns, 1), most=1)
    return columns


def _count_packs(
    programme: Programme, offer: Offer, top: int, share: float, opened: dict[int, int]
) -> list[int]:
    """Add a column a price level for the packs of an offer, closed unless its supplier is used."""
    levels = offer.levels
    ends = [level.min_count - 1 for level in levels[1:]] + [top]
    columns = [
        programme.column(level.price + share, end) for level, end in zip(levels, ends, strict=True)
    ]
    if len(levels) == 1 and levels[0].min_count == 1:
        if opened:
            programme.row({columns[0]: 1, **dict.fromkeys(opened, -top)}, most=0)
        return columns
    choices = [programme.column(0, 1) for _ in levels]
    for column, choice, level, end in zip(columns, choices, levels, ends, strict=True):
        programme.row({column: 1, choice: -level.min_count}, least=0)
        programme.row({column: 1, choice: -end}, most=0)
    programme.row(
        {**dict.fromkeys(choices, 1), **dict.fromkeys(opened, -1)}, most=0 if opened else 1
    )
    return columns


def _cover_needs(programme: Programme, market: Market, counts: list[list[int]]) -> None:
    """Add a row for each need. Its integers are made small, which keeps the solver exact."""
    sizes = market.sizes
    for cover in market.covers:
        common = gcd(*(sizes[i] for i in cover.offers))
        needed = -(-cover.units // common)
        programme.row(
            # A pack larger than the need covers it no better than one as large as the need.
            {column: min(sizes[i] // common, needed) for i in cover.offers for column in counts[i]},
            least=needed,
        )


def _most_packs(offer: Offer, units: int, supplier: Supplier) -> int:
    """Return the most packs worth buying: all that is needed, and what reaches a threshold."""
    enough = max(offer.packs_for(units), offer.levels[-1].min_count)
    cheapest = min(level.price for level in offer.levels)
    threshold = max(tier.goods_from for tier in supplier.tiers)
    return enough + -(-threshold // cheapest)
