"""How many of each product a month must be sold before the studio's fixed costs are earned back."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import timedelta
from decimal import ROUND_CEILING, Decimal

from inventory.models import Material
from pricing.costing import price
from pricing.costing.product_runs import Bench, Making
from pricing.costing.worth import MaterialPrice, no_price, prices_known
from pricing.earnings.producible import products_of
from pricing.earnings.profit import set_profit, total
from pricing.models import Channel, Product
from studio.errors import StudioError
from studio.models import Studio
from studio.money import ZERO
from studio.rows import refuse_strangers

LATELY = timedelta(days=365)
# How many are taken to be made in one session, which shares its set-up.
MOST_AT_ONCE = 12


@dataclass(frozen=True)
class BreakEven:
    """One product: what one brings and costs, [currency], how many earn the fixed costs back.

    ``kept`` is the price less tax and fees, ``materials`` what is used up for one on average, with
    its share of failed pieces, ``minutes`` the work in all of ``count``. With ``problem`` there is
    no such number, and it says why.
    """

    name: str
    product: Product | None = None
    kept: Decimal | None = None
    materials: Decimal | None = None
    count: int | None = None
    minutes: Decimal | None = None
    problem: str = ""

    @property
    def contribution(self) -> Decimal | None:
        """What one leaves towards fixed costs, [currency]."""
        if self.kept is None or self.materials is None:
            return None
        return self.kept - self.materials


def break_even(
    studio: Studio, fixed_costs: Decimal, channel: Channel | None = None
) -> list[BreakEven]:
    """Return a `BreakEven` for each product, and first for the average set sold in the last year.

    Parameters
    ----------
    studio : Studio
    fixed_costs : Decimal
        What the studio costs a month however many are sold, from 0, [currency]
    channel : Channel, optional
        Where products would be sold, for its fees; straight from the studio without one.
    """
    refuse_strangers(studio, channel)
    bench = Bench(studio)
    found: list[BreakEven] = []
    takes: dict[Making, dict[Material, Decimal]] = {}
    for product in products_of(studio):
        making = Making(product, bench)
        try:
            takes[making] = making.expected(1)
        except StudioError as error:
            found.append(BreakEven(product.name, product, problem=str(error)))
    most: dict[Material, Decimal] = {}
    for needs in takes.values():
        for material, quantity in needs.items():
            most[material] = max(quantity, most.get(material, ZERO))
    costed, unknown = prices_known(studio, most)
    found += [
        _product(making, needs, costed, unknown, fixed_costs, channel)
        for making, needs in takes.items()
    ]
    found.sort(key=lambda one: (one.count is None, one.count or 0, one.name))
    average = _average_set(studio, fixed_costs)
    return [average, *found] if average else found


def _product(
    making: Making,
    needs: Mapping[Material, Decimal],
    costed: Mapping[Material, MaterialPrice],
    unknown: Collection[Material],
    fixed_costs: Decimal,
    channel: Channel | None,
) -> BreakEven:
    product = making.product
    if lacking := [material for material in unknown if material in needs]:
        return BreakEven(product.name, product, problem=no_price(lacking))
    try:
        kept = making.earnings(costed, channel).kept
    except StudioError as error:
        return BreakEven(product.name, product, problem=str(error))
    materials = sum((costed[key].cost(quantity) for key, quantity in needs.items()), ZERO)
    return _counted(product.name, product, kept, materials, fixed_costs, making.minutes)


def _average_set(studio: Studio, fixed_costs: Decimal) -> BreakEven | None:
    since = studio.today() - LATELY
    rows = [
        row for row in set_profit(studio) if row.sold_on > since and row.sale.refunded_at is None
    ]
    if not rows:
        return None
    sums, number = total(rows), len(rows)
    kept = (sums.revenue - sums.tax - sums.fees) / number
    each = sums.minutes / number
    name = f"The average of {number} sets sold in the last year"
    if number == 1:
        name = "The one set sold in the last year"
    return _counted(
        name, None, kept, sums.materials / number, fixed_costs, lambda count: count * each
    )


def _counted(
    name: str,
    product: Product | None,
    kept: Decimal,
    materials: Decimal,
    fixed_costs: Decimal,
    minutes: Callable[[int], Decimal],
) -> BreakEven:
    try:
        count = price.break_even_units(fixed_costs, kept, materials)
    except price.PriceError:
        return BreakEven(
            name,
            product,
            kept,
            materials,
            problem="Each one sold brings no more than its materials: raise its price.",
        )
    # A month of it is poured in sessions; beyond one, its work grows in proportion.
    session = min(count, MOST_AT_ONCE) or 1
    work = minutes(session) * count / session
    return BreakEven(name, product, kept, materials, count, work.quantize(ZERO, ROUND_CEILING))
