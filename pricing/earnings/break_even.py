"""How many of each product a month must be sold before the studio's fixed costs are earned back."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import ROUND_CEILING, Decimal

from inventory.models import Material
from pricing.costing import price
from pricing.costing.asking import Via, usual_channel
from pricing.costing.costs import guess_of
from pricing.costing.material_prices import MaterialPrice, no_price
from pricing.costing.product_runs import Production, RunBasis, products_of
from pricing.costing.replacement import known_replacement_prices
from pricing.costing.worth import known_prices
from pricing.earnings.profit import profit_by, sales_standing
from pricing.models import Channel, Posting, Product
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

    ``price`` is what the customer reads for one, its own or the asking price of one made by itself,
    ``kept`` what of it is left after tax and fees, ``materials`` what is used up for one on
    average, with its share of failed pieces, ``minutes`` the work in all of ``count``. ``guess``
    says what of success and minutes has no source yet. With ``problem`` there is no such number,
    and it says why.
    """

    name: str
    product: Product | None = None
    price: Decimal | None = None
    kept: Decimal | None = None
    materials: Decimal | None = None
    count: int | None = None
    minutes: Decimal | None = None
    guess: str = ""
    problem: str = ""

    @property
    def contribution(self) -> Decimal | None:
        """What one leaves towards fixed costs, [currency]."""
        if self.kept is None or self.materials is None:
            return None
        return self.kept - self.materials


def break_even(
    studio: Studio, fixed_costs: Decimal, channel: Channel | Via | None = Via.USUAL
) -> list[BreakEven]:
    """Return a `BreakEven` for each product, and first for the average set sold in the last year.

    Parameters
    ----------
    studio : Studio
    fixed_costs : Decimal
        What the studio costs a month however many are sold, from 0, [currency]
    channel : Channel, optional
        Where products would be sold, for its fees: the usual one without saying, straight from the
        studio with None.
    """
    channel = usual_channel(studio) if isinstance(channel, Via) else channel
    refuse_strangers(studio, channel)
    basis = RunBasis(studio)
    rows: list[BreakEven] = []
    takes: dict[Production, dict[Material, Decimal]] = {}
    for product in products_of(studio):
        production = Production(product, basis)
        try:
            takes[production] = production.average_use(1)
        except StudioError as error:
            rows.append(BreakEven(product.name, product, problem=str(error)))
    most: dict[Material, Decimal] = {}
    for needs in takes.values():
        for material, quantity in needs.items():
            most[material] = max(quantity, most.get(material, ZERO))
    anew, _ = known_replacement_prices(studio, most)
    costed, unknown = known_prices(studio, most, anew)
    rows += [
        _product(production, needs, costed, anew, unknown, fixed_costs, channel)
        for production, needs in takes.items()
    ]
    rows.sort(key=lambda one: (one.count is None, one.count or 0, one.name))
    average = _average_set(studio, fixed_costs)
    return [average, *rows] if average else rows


def _product(
    production: Production,
    needs: Mapping[Material, Decimal],
    costed: Mapping[Material, MaterialPrice],
    anew: Mapping[Material, MaterialPrice],
    unknown: Collection[Material],
    fixed_costs: Decimal,
    channel: Channel | None,
) -> BreakEven:
    product = production.product
    if lacking := [material for material in unknown if material in needs]:
        return BreakEven(product.name, product, problem=no_price(lacking))
    try:
        earnings = production.earnings(anew, channel)
    except StudioError as error:
        return BreakEven(product.name, product, problem=str(error))
    materials = sum((costed[key].cost(quantity) for key, quantity in needs.items()), ZERO)
    row = _row(product.name, product, earnings.proceeds, materials, fixed_costs, production.minutes)
    guess = guess_of(production.estimate(), production.habit)
    return replace(row, price=earnings.price, guess=guess)


def _average_set(studio: Studio, fixed_costs: Decimal) -> BreakEven | None:
    sold = sales_standing(studio, studio.today() - LATELY)
    number = sold.filter(kind=Posting.Kind.SOLD).count()
    if not number:
        return None
    (sums,) = profit_by(sold, "studio").values()
    proceeds = (sums.revenue - sums.tax - sums.fees) / number
    each = sums.minutes / number
    name = f"The average of {number} sets sold in the last year"
    if number == 1:
        name = "The one set sold in the last year"
    return _row(
        name, None, proceeds, sums.materials / number, fixed_costs, lambda count: count * each
    )


def _row(
    name: str,
    product: Product | None,
    proceeds: Decimal,
    materials: Decimal,
    fixed_costs: Decimal,
    minutes: Callable[[int], Decimal],
) -> BreakEven:
    try:
        count = price.break_even_units(fixed_costs, proceeds, materials)
    except price.PriceError:
        return BreakEven(
            name,
            product,
            kept=proceeds,
            materials=materials,
            problem="Each one sold brings no more than its materials: raise its price.",
        )
    # A month of it is poured in sessions; beyond one, its work grows in proportion.
    session = min(count, MOST_AT_ONCE) or 1
    work = minutes(session) * count / session
    return BreakEven(
        name,
        product,
        kept=proceeds,
        materials=materials,
        count=count,
        minutes=work.quantize(ZERO, ROUND_CEILING),
    )
