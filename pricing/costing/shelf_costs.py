"""What lines cost off the shelf: each in its turn, after what is promised and the lines before."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Material, Work
from pricing.costing.asking import Asking
from pricing.costing.costs import LineCost, line_costs
from pricing.costing.habits import Habit, habits_of
from pricing.costing.material_prices import MaterialPrice, no_price
from pricing.costing.worth import PARTLY, PriceBook
from pricing.errors import NoPriceKnown
from pricing.estimating.answers import LineEstimate
from studio.models import Studio


@dataclass(frozen=True)
class ShelfCosts:
    """What each line costs, and what the materials of all of them do."""

    costs: tuple[LineCost, ...]
    prices: dict[Material, MaterialPrice]


def shelf_costs(
    studio: Studio,
    estimates: Sequence[LineEstimate],
    *,
    work: Work | None = None,
    habits: Mapping[int, Habit] | None = None,
    anew: Mapping[Material, MaterialPrice] | None = None,
    book: PriceBook | None = None,
) -> ShelfCosts:
    """Return what lines cost when they are made one after the other from what is on the shelf.

    What is promised to other work than ``work`` is left to it. ``habits`` are those of the studio,
    ``anew`` what the materials cost to replace, and ``book`` their prices, where they are known
    already; the book is left as it is.

    Raises `NoPriceKnown`, naming every material that was never bought and has no pack.
    """
    if book is None:
        materials = {key: None for one in estimates for key in one.needs}
        book = PriceBook(studio, materials, work=work, anew=anew)
    book, habits = book.again(), habits_of(studio) if habits is None else habits
    costs: list[LineCost] = []
    together: dict[Material, MaterialPrice] = {}
    unknown: list[Material] = []
    for estimate in estimates:
        prices: dict[Material, MaterialPrice] = {}
        for material, need in estimate.needs.items():
            price = book.price(material, need.to_mix)
            if price is None:
                unknown.append(material)
                continue
            prices[material] = price
            together[material] = _added(together.get(material), price)
            book.take(material, need.to_mix)
        if not unknown:
            costs += line_costs(studio, [estimate], prices, habits)
    if unknown:
        raise NoPriceKnown(no_price(dict.fromkeys(unknown)))
    return ShelfCosts(tuple(costs), together)


def forecast_profit(
    studio: Studio,
    estimates: Sequence[LineEstimate],
    asking: Asking,
    *,
    habits: Mapping[int, Habit] | None = None,
    book: PriceBook | None = None,
) -> Decimal | None:
    """Return the profit at an asking price with materials off the shelf; see `shelf_costs`.

    None where one of them has no price there, or nobody has said what it costs.
    """
    if asking.unknown:
        return None
    try:
        costs = shelf_costs(studio, estimates, habits=habits, anew=asking.prices, book=book).costs
        return asking.profit_at(costs)
    except NoPriceKnown:
        return None


def _added(one: MaterialPrice | None, other: MaterialPrice) -> MaterialPrice:
    if one is None:
        return other
    source = one.source if one.source == other.source else PARTLY
    quantity, value = one.quantity + other.quantity, one.value + other.value
    return MaterialPrice(other.material, quantity, value, source)
