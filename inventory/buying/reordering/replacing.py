"""What a unit of a material costs to replace, when it is bought as it is usually bought."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from inventory.buying.reordering.limits import DemandError
from inventory.buying.reordering.market import SupplierTerms


@dataclass(frozen=True)
class Restock:
    """Packs of one kind that the usual purchase of a material brings.

    ``size`` is the content of one of ``count`` packs [mL, g or items], ``goods`` the price of all
    [minor units]. Of the material ``per_day`` is the usual use [mL, g or items a day], 0 where none
    is on record, and ``at_once`` the most that a day took [mL, g or items]. ``life_days`` is how
    long it keeps from the day it is bought, ``opened_days`` from when a pack is opened, [days];
    None where nothing is said.
    """

    material: Hashable
    pack: Hashable
    supplier: Hashable
    count: int
    size: Decimal
    goods: int
    per_day: Decimal
    at_once: Decimal = Decimal(0)
    life_days: int | None = None
    opened_days: int | None = None


@dataclass(frozen=True)
class Deliveries:
    """How a supplier is usually ordered from.

    Every so many ``days`` [days], None where nothing of it is in regular use; ``goods`` of an order
    and its ``shipping`` [minor units]; ``duty`` as a share of the goods [-].
    """

    supplier: Hashable
    days: Fraction | None
    goods: Fraction
    shipping: int
    duty: Fraction

    @property
    def share(self) -> Fraction:
        """What shipping and duty add to each minor unit of goods, [-]."""
        return (Fraction(self.shipping) / self.goods if self.goods else Fraction(0)) + self.duty


@dataclass(frozen=True)
class Replacement:
    """What a material costs to replace.

    ``goods`` and ``extra``, its shares of shipping and duty, are those of one purchase [minor
    units], which brings ``bought`` and of which ``serves`` is used before it spoils [mL, g or
    items] in ``days`` [days], None without use on record.
    """

    material: Hashable
    lines: tuple[Restock, ...]
    goods: int
    extra: Fraction
    bought: Decimal
    serves: Fraction
    days: Fraction | None

    @property
    def unit_cost(self) -> Fraction:
        """Landed cost of one mL, g or item that is used, [minor units]."""
        return (self.goods + self.extra) / self.serves


def replacements(
    purchase: Iterable[Restock],
    suppliers: Iterable[SupplierTerms],
    review_days: int,
    duties: dict[Hashable, Fraction] | None = None,
) -> tuple[list[Replacement], list[Deliveries]]:
    """Return what each material of a purchase costs to replace, and how it is delivered.

    A purchase serves what is used of it before it spoils, ``min(content, use a day · life)``, and
    at least one day like the busiest on record, since it is bought to be used: packs of which only
    half is used in time cost double by the unit. It is bought anew when it is used
    up, so every ``served / use a day`` days.

    One purchase has everything in it, and in the long run the slow materials are in few of the
    orders. So the share of shipping goes by how often each is really bought: a supplier is ordered
    from as often as the first of its materials runs out, and not between reviews; each of those
    orders has on average ``days · Σ goods / days between purchases`` of goods in it, which decides
    the shipping, and every unit of money of goods carries the same share of that. What all
    materials carry over the years is then what the orders cost over the years. Shared in the one
    purchase that has them all, the slow materials would carry shipping of orders that they are not
    in, and the fast ones too little. An order below the least that a supplier takes waits until
    there is enough. What has no use on record comes along with the others.

    Parameters
    ----------
    purchase : iterable of Restock
        What is usually bought together, [mL, g or items; minor units]
    suppliers : iterable of Supplier
        Their terms, [minor units]
    review_days : int
        How often the studio orders at most, at least 1, [days]
    duties : dict of hashable to Fraction, optional
        What duty adds to the goods, by supplier, [-]

    Returns
    -------
    replacements : list of Replacement
        One for each material, in the order of the purchase, [minor units]
    deliveries : list of Deliveries
        One for each supplier, [minor units; days]

    Raises
    ------
    DemandError
        If the use, or the days of a review or a life are out of range.

    Examples
    --------
    White is used up in 10 days and gold in 100; ten orders at 6.00 of shipping have 11 purchases
    at 20.00 in them, each with a share of 60 / 220 of its goods.

    >>> white = Restock("white", 1, "shop", 1, Decimal(100), 2000, Decimal(10))
    >>> gold = Restock("gold", 2, "shop", 1, Decimal(100), 2000, Decimal(1))
    >>> found, _ = replacements([white, gold], [SupplierTerms("shop", shipping_fee=600)], 10)
    >>> [round(float(one.unit_cost), 4) for one in found]
    [25.4545, 25.4545]

    References
    ----------
    The order of the fastest item sets the pace and others join it: E. A. Silver, D. F. Pyke and
    R. Peterson, *Inventory Management and Production Planning and Scheduling*, 3rd ed. (1998),
    ch. 11, coordinated replenishments at a single stocking point.
    """
    if review_days < 1:
        raise DemandError("A review takes place every day at most.")
    of_material: defaultdict[Hashable, list[Restock]] = defaultdict(list)
    for line in purchase:
        _check(line)
        of_material[line.material].append(line)
    serves = {key: _serves(lines) for key, lines in of_material.items()}
    days = {
        key: serves[key] / Fraction(lines[0].per_day) if lines[0].per_day else None
        for key, lines in of_material.items()
    }
    sold: defaultdict[Hashable, list[Restock]] = defaultdict(list)
    for lines in of_material.values():
        for line in lines:
            sold[line.supplier].append(line)
    terms = {one.key: one for one in suppliers}
    deliveries = {
        key: _deliveries(terms[key], lines, days, review_days, (duties or {}).get(key, Fraction(0)))
        for key, lines in sold.items()
    }
    found = [
        Replacement(
            material=key,
            lines=tuple(lines),
            goods=sum(line.goods for line in lines),
            extra=sum(
                (line.goods * deliveries[line.supplier].share for line in lines), Fraction(0)
            ),
            bought=sum((line.count * line.size for line in lines), Decimal(0)),
            serves=serves[key],
            days=days[key],
        )
        for key, lines in of_material.items()
    ]
    return found, list(deliveries.values())


def _check(line: Restock) -> None:
    lives = [days for days in (line.life_days, line.opened_days) if days is not None]
    if min(line.per_day, line.at_once) < 0 or any(days < 0 for days in lives):
        raise DemandError("Use and the days that something keeps cannot be below zero.")


def _serves(lines: Sequence[Restock]) -> Fraction:
    """Return what is used of the packs of one material before they spoil, [mL, g or items].

    Packs are opened one after the other. What keeps for no whole day serves the day it is bought.
    """
    content = sum((line.count * Fraction(line.size) for line in lines), Fraction(0))
    per_day = Fraction(lines[0].per_day)
    if not per_day:
        return content
    served = Fraction(0)
    for line in lines:
        each = Fraction(line.size)
        if line.opened_days is not None:
            each = min(each, per_day * max(line.opened_days, 1))
        served += line.count * each
    if lines[0].life_days is not None:
        served = min(served, per_day * max(lines[0].life_days, 1))
    return max(served, min(content, Fraction(lines[0].at_once)))


def _deliveries(
    terms: SupplierTerms,
    lines: Sequence[Restock],
    days: dict[Hashable, Fraction | None],
    review_days: int,
    duty: Fraction,
) -> Deliveries:
    used = [(line.goods, between) for line in lines if (between := days[line.material])]
    if not used:
        goods = sum(line.goods for line in lines)
        return Deliveries(terms.key, None, Fraction(goods), terms.shipping(goods), duty)
    pace = max(min(between for _, between in used), Fraction(review_days))
    goods_a_day = sum((goods / between for goods, between in used), Fraction(0))
    goods_each = max(pace * goods_a_day, Fraction(terms.minimum_order))
    return Deliveries(
        terms.key, goods_each / goods_a_day, goods_each, terms.shipping(int(goods_each)), duty
    )
