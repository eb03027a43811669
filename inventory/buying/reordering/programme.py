"""The purchase as a mixed-integer programme over packs and shipping tiers."""

from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from math import gcd, inf
from typing import NamedTuple

import numpy as np
from scipy.sparse import csr_array

from inventory.buying.reordering.covering import Market
from inventory.buying.reordering.market import PackOffer, SupplierTerms


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


class PackCounts(NamedTuple):
    """The numbers of packs of an offer among which to choose, rising.

    On top of the largest, or of none, so many ``more`` can be bought at its price, [-].
    """

    numbers: Sequence[int]
    more: int = 0


@dataclass(frozen=True)
class PackColumn:
    """A column that buys packs: its index, how many packs one of it is, and their price, [-]."""

    index: int
    packs: int
    price: int


def build(
    market: Market, counts: Sequence[PackCounts], excess_weight: float = 0.0
) -> tuple[Programme, list[list[PackColumn]]]:
    """Return the programme of a market, and the columns that buy packs of each offer.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]
    counts : sequence of PackCounts
        For each offer the numbers of packs to choose from, [-]
    excess_weight : float
        Cost of bringing as much again as is needed of a material, [minor units]

    Returns
    -------
    programme : Programme
        The programme to minimise, [minor units]
    columns : list of list of PackColumn
        For each offer those that together say how many packs are bought, [-]
    """
    programme = Programme()
    goods: dict[Hashable, dict[int, float]] = defaultdict(dict)
    opened: dict[Hashable, dict[int, int]] = {}
    for key in sorted({offer.supplier for offer in market.offers}, key=str):
        opened[key] = _open_supplier(programme, market.suppliers[key])
    pack_columns = []
    for offer, size, each in zip(market.offers, market.sizes, counts, strict=True):
        share = excess_weight * size / market.needed.get(offer.material, size)
        columns = _count(programme, offer, each, share, opened[offer.supplier])
        goods[offer.supplier] |= {column.index: column.price for column in columns}
        pack_columns.append(columns)
    for key, tiers in opened.items():
        thresholds = {column: tier for column, tier in tiers.items() if tier}
        if thresholds:
            least = {column: -goods_from for column, goods_from in thresholds.items()}
            programme.row({**goods[key], **least}, least=0)
    _cover_needs(programme, market, pack_columns)
    return programme, pack_columns


def _open_supplier(programme: Programme, supplier: SupplierTerms) -> dict[int, int]:
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


def _count(
    programme: Programme, offer: PackOffer, counts: PackCounts, share: float, opened: dict[int, int]
) -> list[PackColumn]:
    """Add a yes-or-no column for each number of packs, at most one of them taken.

    None is, unless the supplier is used. A column a number leaves the solver far less room between
    whole and broken numbers than one a price level. More than the largest number only serves to
    reach a threshold.
    """
    columns = [
        PackColumn(programme.column(offer.cost(count) + count * share, 1), count, offer.cost(count))
        for count in counts.numbers
    ]
    programme.row(
        {**dict.fromkeys((each.index for each in columns), 1), **dict.fromkeys(opened, -1)},
        most=0 if opened else 1,
    )
    if counts.more:
        price = offer.unit_price(columns[-1].packs if columns else 1)
        column = programme.column(price + share, counts.more)
        below = [columns[-1].index] if columns else opened
        if below:
            programme.row({column: 1, **dict.fromkeys(below, -counts.more)}, most=0)
        columns.append(PackColumn(column, 1, price))
    return columns


def _cover_needs(
    programme: Programme, market: Market, pack_columns: list[list[PackColumn]]
) -> None:
    """Add a row for each need. Its integers are made small, which keeps the solver exact."""
    sizes = market.sizes
    for cover in market.covers:
        common = gcd(*(sizes[i] for i in cover.offers))
        needed = -(-cover.units // common)
        programme.row(
            # Packs beyond the need cover it no better than those that just do.
            {
                column.index: min(column.packs * sizes[i] // common, needed)
                for i in cover.offers
                for column in pack_columns[i]
            },
            least=needed,
        )
