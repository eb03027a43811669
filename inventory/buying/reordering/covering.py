"""The market cut down to what can serve the needs, in integers, in one stable order."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from inventory.buying.reordering.market import MaterialNeed, PackOffer, SupplierTerms, in_units
from inventory.buying.reordering.words import PlanProblem, Words


@dataclass(frozen=True)
class Cover:
    """By ``due``, the offers with these numbers must bring so many ten-thousandths."""

    material: Hashable
    due: date | None
    units: int
    offers: tuple[int, ...]


@dataclass(frozen=True)
class Market:
    """Offers, their suppliers, and what must be covered.

    A basket is a list with one count of packs for each offer. Those that serve no need are bought
    where they are the cheapest way to a least order or to lower shipping. ``known_covers`` keeps
    the cheapest covers of single materials for all markets of the same offers (see `separate`).
    """

    offers: tuple[PackOffer, ...]
    suppliers: dict[Hashable, SupplierTerms]
    covers: tuple[Cover, ...]
    known_covers: dict[Hashable, Any] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def sizes(self) -> tuple[int, ...]:
        """Content of one pack of each offer, [ten-thousandths]."""
        return tuple(in_units(offer.size) for offer in self.offers)

    @cached_property
    def needed(self) -> dict[Hashable, int]:
        """All that is needed of each material, [ten-thousandths]; later covers include earlier."""
        return {cover.material: cover.units for cover in self.covers}

    @cached_property
    def covers_of(self) -> dict[Hashable, list[Cover]]:
        """What must be covered of each material, the earliest first."""
        covers: dict[Hashable, list[Cover]] = defaultdict(list)
        for cover in self.covers:
            covers[cover.material].append(cover)
        return dict(covers)

    @cached_property
    def spare(self) -> list[int]:
        """The numbers of the offers that serve no need: of no material needed, or too late."""
        serving = {number for cover in self.covers for number in cover.offers}
        return [number for number in range(len(self.offers)) if number not in serving]

    @cached_property
    def numbers(self) -> dict[Hashable, list[int]]:
        """The numbers of all offers of each material."""
        numbers: dict[Hashable, list[int]] = defaultdict(list)
        for number, offer in enumerate(self.offers):
            numbers[offer.material].append(number)
        return dict(numbers)

    def goods(self, basket: Sequence[int]) -> dict[Hashable, int]:
        """Return the value of goods from each supplier used, [minor units]."""
        goods: dict[Hashable, int] = defaultdict(int)
        for offer, count in zip(self.offers, basket, strict=True):
            if count:
                goods[offer.supplier] += offer.cost(count)
        return goods

    def total(self, basket: Sequence[int]) -> int:
        """Return the landed cost of a basket, [minor units]."""
        goods = self.goods(basket)
        return sum(value + self.suppliers[key].shipping(value) for key, value in goods.items())

    def brought(self, basket: Sequence[int]) -> float:
        """Return what a basket brings, each material as a multiple of its need, [-].

        What is not needed at all counts by the pack.
        """
        return sum(
            count * size / self.needed.get(offer.material, size)
            for offer, size, count in zip(self.offers, self.sizes, basket, strict=True)
            if count
        )

    def serves(self, basket: Sequence[int]) -> bool:
        """Return whether a basket covers every need in time and keeps every least order."""
        for cover in self.covers:
            if sum(basket[i] * self.sizes[i] for i in cover.offers) < cover.units:
                return False
        for offer, count in zip(self.offers, basket, strict=True):
            if 0 < count < offer.levels[0].min_count:
                return False
        goods = self.goods(basket)
        return all(goods[key] >= self.suppliers[key].minimum_order for key in goods)

    def only(self, suppliers: Iterable[Hashable]) -> "Market | None":
        """Return the market of some suppliers alone, or None where they cannot serve every need."""
        keep = set(suppliers)
        part = self.part([i for i, offer in enumerate(self.offers) if offer.supplier in keep])
        return replace(part, known_covers=self.known_covers) if part else None

    def part(self, numbers: Sequence[int]) -> "Market | None":
        """Return the market of some offers alone, or None where they cannot serve every need."""
        renumbered = {old: new for new, old in enumerate(numbers)}
        covers = [
            replace(cover, offers=tuple(renumbered[i] for i in cover.offers if i in renumbered))
            for cover in self.covers
        ]
        if not all(cover.offers for cover in covers):
            return None
        return Market(tuple(self.offers[i] for i in numbers), self.suppliers, tuple(covers))

    def lifted(self, basket: Sequence[int], numbers: Iterable[int]) -> list[int]:
        """Return a basket of the `part` with these offers as one of this market."""
        whole = [0] * len(self.offers)
        for number, count in zip(numbers, basket, strict=True):
            whole[number] = count
        return whole


def sift(
    needs: Iterable[MaterialNeed[Hashable]],
    offers: Iterable[PackOffer],
    suppliers: Iterable[SupplierTerms],
    *,
    today: date | None,
    allow_late: bool,
    words: Words,
) -> Market:
    """Return the market that serves the needs, or refuse needs that nobody can serve.

    Parameters
    ----------
    needs, offers, suppliers : iterable of MaterialNeed, PackOffer, SupplierTerms
        As for `plan`; offers of materials without a need are spare, [-]
    today : date
        Day of ordering, [date]
    allow_late : bool
        Whether a need that nobody can meet in time is met as soon as possible, [-]
    words : Words
        How to write names and amounts, [-]

    Returns
    -------
    market : Market
        Sorted, so that the same facts in any order give the same market, [ten-thousandths]

    Raises
    ------
    PlanProblem
        If nobody sells a material, or not in time.
    """
    terms = {supplier.key: supplier for supplier in suppliers}
    units_by_material = _units_by_material(needs)
    if today is None and any(due for dated in units_by_material.values() for due in dated):
        raise PlanProblem("undated", "Some needs have a date: say from which day to count.")
    useful = sorted(
        (each for each in offers if each.supplier in terms),
        key=lambda o: (str(o.material), str(o.supplier), o.size, o.price, str(o.pack)),
    )
    _check_offers(useful, terms.values())
    sellers: dict[Hashable, list[int]] = defaultdict(list)
    for number, offer in enumerate(useful):
        sellers[offer.material].append(number)
    unsold = [material for material in units_by_material if material not in sellers]
    if unsold:
        raise PlanProblem.nobody_sells(unsold, words)

    covers = []
    for material, dated in units_by_material.items():
        running = 0
        for due in sorted(dated, key=lambda day: day or date.max):
            running += dated[due]
            in_time = tuple(sellers[material])
            if due is not None and today is not None:
                days = {i: arrival(terms[useful[i].supplier], today) for i in in_time}
                soonest = min(days.values())
                if soonest > due and not allow_late:
                    seller = useful[min(i for i in days if days[i] == soonest)].supplier
                    raise PlanProblem.too_late(material, due, soonest, seller, words)
                in_time = tuple(i for i in days if days[i] <= max(due, soonest))
            covers.append(Cover(material, due, running, in_time))
    return Market(tuple(useful), terms, tuple(covers))


def arrival(supplier: SupplierTerms, today: date) -> date:
    """Return the day on which an order placed today arrives.

    Parameters
    ----------
    supplier : SupplierTerms
        Its lead time counts, [days]
    today : date
        Day of ordering, [date]

    Returns
    -------
    day : date
        The day it arrives, [date]
    """
    return today + timedelta(days=supplier.lead_days)


def _units_by_material(
    needs: Iterable[MaterialNeed[Hashable]],
) -> dict[Hashable, dict[date | None, int]]:
    """Return what is wanted of each material on each date, in a stable order."""
    units_by_material: dict[Hashable, dict[date | None, int]] = defaultdict(
        lambda: defaultdict(int)
    )
    for need in needs:
        if need.quantity < 0:
            raise PlanProblem("negative", "A need cannot be below zero.", (need.material,))
        if need.quantity:
            units_by_material[need.material][need.needed_by] += in_units(need.quantity)
    return {
        material: dict(units_by_material[material])
        for material in sorted(units_by_material, key=str)
    }


def _check_offers(offers: Sequence[PackOffer], suppliers: Iterable[SupplierTerms]) -> None:
    for offer in offers:
        prices = [level.price for level in offer.levels]
        if offer.size <= 0 or min(prices) <= 0:
            raise PlanProblem(
                "bad_offer",
                f"The pack {offer.pack} needs a size and a price above zero.",
                (offer.material,),
            )
    for supplier in suppliers:
        amounts = [supplier.minimum_order, supplier.lead_days, *(t.fee for t in supplier.tiers)]
        if min(amounts) < 0:
            raise PlanProblem("bad_terms", "Fees, least orders and lead times are not below zero.")
        fees = [supplier.shipping_fee, *(t.fee for t in sorted(supplier.shipping_tiers))]
        if fees != sorted(fees, reverse=True):
            raise PlanProblem("bad_terms", "Shipping must not cost more as an order grows.")
