"""The orders of a plan, and the reason for each line, built from its facts."""

from collections.abc import Hashable, Sequence
from datetime import date
from decimal import Decimal

from inventory.buying.reordering.covering import Market, arrival
from inventory.buying.reordering.market import MaterialNeed
from inventory.buying.reordering.plans import KeyLine, KeyOrder, PlanLine, SupplierOrder
from inventory.buying.reordering.words import Words, listed
from studio.units import QUANTITY_PLACES


def orders_of(
    market: Market,
    basket: Sequence[int],
    needs: Sequence[MaterialNeed[Hashable]],
    today: date | None,
    words: Words,
) -> tuple[KeyOrder, ...]:
    """Return a basket as orders by supplier, each line with its reason.

    Parameters
    ----------
    market : Market
        Offers and needs, [minor units, ten-thousandths]
    basket : sequence of int
        Packs of each offer, [-]
    needs : sequence of MaterialNeed
        The needs as they were given, for their reasons, [mL, g or items]
    today : date
        Day of ordering, [date]
    words : Words
        How to write names and amounts, [-]

    Returns
    -------
    orders : tuple of SupplierOrder
        By the suppliers' names, [minor units]
    """
    orders = []
    for key, goods in sorted(
        market.goods(basket).items(), key=lambda item: words.supplier(item[0])
    ):
        numbers_bought = [
            number
            for number, offer in enumerate(market.offers)
            if offer.supplier == key and basket[number]
        ]
        lines = tuple(
            _line(market, basket, number, needs, today, words) for number in numbers_bought
        )
        supplier = market.suppliers[key]
        day = arrival(supplier, today) if today else None
        orders.append(SupplierOrder(key, lines, goods, supplier.shipping(goods), day))
    return tuple(orders)


def _line(
    market: Market,
    basket: Sequence[int],
    number: int,
    needs: Sequence[MaterialNeed[Hashable]],
    today: date | None,
    words: Words,
) -> KeyLine:
    offer, count = market.offers[number], basket[number]
    day = arrival(market.suppliers[offer.supplier], today) if today else None
    dates = [cover.due for cover in market.covers if number in cover.offers and cover.due]
    needed_by = min(dates, default=None)
    late = needed_by is not None and day is not None and day > needed_by
    reasons = (
        [_spare(market, basket, number, words)]
        if number in market.spare
        else [
            _what_for(market, offer.material, needs, words),
            _coverage(market, basket, number, words),
            _more_than_needed(market, basket, number, words),
            _alternative(market, basket, number, words),
        ]
    )
    if late and day:
        reasons.append(f"It arrives on {words.day(day)}, after the day it is needed.")
    return PlanLine(
        material=offer.material,
        pack=offer.pack,
        supplier=offer.supplier,
        count=count,
        size=offer.size,
        unit_price=offer.unit_price(count),
        cost=offer.cost(count),
        needed_by=needed_by,
        arrives_on=day,
        late=late,
        why=" ".join(filter(None, reasons)),
    )


def _what_for(
    market: Market, material: Hashable, needs: Sequence[MaterialNeed[Hashable]], words: Words
) -> str:
    mine = [need for need in needs if need.material == material and need.quantity]
    amount = words.quantity(material, _quantity(market.needed[material]))
    dates = sorted(need.needed_by for need in mine if need.needed_by)
    first = ", the first by" if len(mine) > 1 else " by"
    by = f"{first} {words.day(dates[0])}" if dates else ""
    why = list(dict.fromkeys(need.reason for need in mine if need.reason))
    return f"{amount} needed{f' for {listed(why)}' if why else ''}{by}."


def _coverage(market: Market, basket: Sequence[int], number: int, words: Words) -> str:
    offer = market.offers[number]
    together = [i for i, each in enumerate(market.offers) if each.material == offer.material]
    units_bought = sum(basket[i] * market.sizes[i] for i in together)
    excess = units_bought - market.needed[offer.material]
    this = words.quantity(offer.material, _quantity(basket[number] * market.sizes[number]))
    others = sum(1 for i in together if basket[i]) - 1
    spare = (
        f"{words.quantity(offer.material, _quantity(excess))} is left over"
        if excess
        else "nothing is left over"
    )
    with_others = f"; with the other {'packs' if others > 1 else 'pack'}, " if others else ", and "
    return f"This brings {this}{with_others}{spare}."


def _more_than_needed(market: Market, basket: Sequence[int], number: int, words: Words) -> str:
    """Say what packs beyond the need are for, where they are all of one kind."""
    offer, count = market.offers[number], basket[number]
    alone = [i for i, o in enumerate(market.offers) if o.material == offer.material and basket[i]]
    enough = offer.packs_for(market.needed[offer.material])
    if alone != [number] or count <= enough:
        return ""
    if offer.cost(count) <= offer.cost(enough):
        each = words.money(offer.unit_price(count))
        return f"From {count} on each costs {each}, so {count} cost no more than {enough}."
    terms = market.suppliers[offer.supplier]
    goods = market.goods(basket)[offer.supplier] - offer.cost(count) + offer.cost(enough)
    if goods < terms.minimum_order:
        least = words.money(terms.minimum_order)
        return (
            f"{enough} would do, but {words.supplier(offer.supplier)} takes orders from {least} on."
        )
    return f"{enough} would do, but then shipping costs {words.money(terms.shipping(goods))}."


def _spare(market: Market, basket: Sequence[int], number: int, words: Words) -> str:
    """Say what packs that serve no need are for: the least order of their supplier, or shipping."""
    offer, count = market.offers[number], basket[number]
    terms, supplier = market.suppliers[offer.supplier], words.supplier(offer.supplier)
    goods = market.goods(basket)[offer.supplier] - offer.cost(count)
    this = words.quantity(offer.material, _quantity(count * market.sizes[number]))
    because = (
        f"{supplier} takes orders from {words.money(terms.minimum_order)} on"
        if goods < terms.minimum_order
        else f"without it shipping costs {words.money(terms.shipping(goods))}"
    )
    instead = (
        "It comes too late for what is needed."
        if offer.material in market.needed
        else "The budget does not cover all that is needed of it."
    )
    return f"This brings {this}, bought because {because}. {instead}"


def _alternative(market: Market, basket: Sequence[int], number: int, words: Words) -> str:
    """Compare with the cheapest other pack that would cover the material on its own."""
    material, needed = market.offers[number].material, market.needed[market.offers[number].material]
    always = set.intersection(
        *(set(cover.offers) for cover in market.covers if cover.material == material)
    )
    chosen = [
        i for i, offer in enumerate(market.offers) if offer.material == material and basket[i]
    ]
    spent = sum(market.offers[i].cost(basket[i]) for i in chosen)
    others = [
        (offer.cost(packs), packs, i)
        for i in sorted(always)
        if (offer := market.offers[i]) and (packs := offer.packs_for(needed)) and [i] != chosen
    ]
    if not others:
        return "There is no other pack to cover it."
    cost, packs, best = min(others)
    offer = market.offers[best]
    other = f"{packs} × {words.pack(offer.pack)} from {words.supplier(offer.supplier)}"
    if cost > spent:
        return f"The next cheapest, {other}, costs {words.money(cost - spent)} more."
    if cost == spent:
        return f"The next cheapest, {other}, costs the same."
    saved = words.money(spent - cost)
    return f"{other} is {saved} cheaper by itself, but not with shipping and least orders counted."


def _quantity(units: int) -> Decimal:
    return units * QUANTITY_PLACES
