"""What a studio can make now: how many of each product, what limits it, and the best mix of all.

What is available is what is on hand and held for nobody. What a product *earns* is its price less
tax, fees and the materials in it at what their bottles cost: it pays the hours, the overhead and
the profit. Hours are no cost here, since they are what is shared out.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Material, Pack, with_promises
from pricing.costing import output
from pricing.costing.asking import Via, usual_channel
from pricing.costing.material_prices import MaterialPrice
from pricing.costing.product_runs import Earnings, Production, RunBasis, products_of
from pricing.costing.replacement import replacement_prices
from pricing.costing.worth import prices
from pricing.earnings.possible import (
    Amounts,
    BestMix,
    MixLine,
    PackGain,
    Producible,
    ProductCapacity,
)
from pricing.models import Channel, Product
from studio.errors import StudioError, in_words
from studio.models import Studio
from studio.money import ZERO
from studio.rows import refuse_strangers

AN_HOUR = Decimal(60)
USUAL_HOURS = Decimal(8)
LONGEST_RUN = 60  # of one product in a mix; more than a working week makes


def producible(
    studio: Studio,
    *,
    hours: Decimal = USUAL_HOURS,
    channel: Channel | Via | None = Via.USUAL,
    most: Mapping[int, int] | None = None,
) -> Producible:
    """Return what can be made now, in a number of queries that does not grow with the products.

    Parameters
    ----------
    studio : Studio
    hours : Decimal
        Hands-on hours there are for the mix, [h]
    channel : Channel, optional
        Where it would be sold, for its fees: the usual one without saying, straight from the studio
        with None.
    most : mapping of int to int, optional
        By a product's key, how many of it can be sold, [-]; without limit where it is not named.

    Returns
    -------
    producible : Producible
    """
    channel = usual_channel(studio) if isinstance(channel, Via) else channel
    refuse_strangers(studio, channel)
    shelf, basis = _Shelf(studio), RunBasis(studio)
    productions: list[Production] = []
    capacity: dict[Product, output.Capacity[int]] = {}
    refused: dict[Product, str] = {}
    for product in products_of(studio):
        production = Production(product, basis)
        try:
            capacity[product] = output.how_many(
                production.stock_needed, shelf.available, production.most
            )
            productions.append(production)
        except StudioError as error:
            refused[product] = str(error)
    minutes = Decimal(hours) * 60
    prospects, refused_price = _prospects(studio, productions, capacity, shelf, channel)
    runs = {
        production.product: _runs(
            production, one, shelf, minutes, (most or {}).get(production.product.pk)
        )
        for production, one in prospects.items()
    }
    possible = [
        _product_row(
            production,
            capacity[production.product],
            prospects.get(production),
            shelf,
            refused_price,
        )
        for production in productions
    ]
    possible += [ProductCapacity(product, problem=text) for product, text in refused.items()]
    possible.sort(key=lambda one: (bool(one.problem), one.product.name))
    with in_words(output.OutputError):
        best = _best(runs, shelf, minutes)
    return Producible(tuple(possible), best, _nearest(possible))


class _Shelf:
    """What is there of each material and held for nobody, and what a pack would add."""

    def __init__(self, studio: Studio) -> None:
        rows = with_promises(studio.materials.all())
        self.materials = {row.pk: row for row in rows}
        self.available = {pk: max(row.available, ZERO) for pk, row in self.materials.items()}
        self.packs: dict[int, Pack] = {}
        packs = Pack.objects.on_offer().filter(material__in=self.materials)
        for pack in packs.select_related("material").order_by("-price", "-pk"):
            self.packs[pack.material_id] = pack  # the last one is the least to pay
        self.extra = {pk: pack.size for pk, pack in self.packs.items()}
        self.with_packs = {
            pk: there + self.extra.get(pk, ZERO) for pk, there in self.available.items()
        }

    def amounts(self, needs: Mapping[int, Decimal]) -> Amounts:
        return tuple((self.materials[pk], amount) for pk, amount in needs.items())


@dataclass(frozen=True)
class _Prospect:
    """What one product brings, and the run that shows it: all that can be made, or else one."""

    earnings: Earnings
    prices: dict[Material, MaterialPrice]
    run: output.Run[int]


def _prospects(
    studio: Studio,
    productions: Sequence[Production],
    capacity: Mapping[Product, output.Capacity[int]],
    shelf: _Shelf,
    channel: Channel | None,
) -> tuple[dict[Production, _Prospect], dict[Product, str]]:
    """Return {production: what it brings} of what can be made with a pack more of each material.

    What could be made and has no price comes second, as {product: why}.
    """
    productions = [
        one for one in productions if not output.missing(one.stock_needed(1), shelf.with_packs)
    ]
    needs: dict[Material, Decimal] = {}
    for production in productions:
        for material, need in production.needs(1).items():
            needs[material] = max(need.to_mix, needs.get(material, ZERO))
    anew = replacement_prices(studio, needs)
    costed = prices(studio, needs, anew)
    prospects: dict[Production, _Prospect] = {}
    refused: dict[Product, str] = {}
    for production in productions:
        try:
            earnings = production.earnings(anew, channel)
        except StudioError as error:
            refused[production.product] = str(error)
        else:
            run = production.run(max(capacity[production.product].count, 1), earnings, costed)
            prospects[production] = _Prospect(earnings, costed, run)
    return prospects, refused


def _runs(
    production: Production, prospect: _Prospect, shelf: _Shelf, minutes: Decimal, most: int | None
) -> list[output.Run[int]]:
    """Return the runs worth a look: what a pack more of each and an hour more allow."""
    most = min(production.most, LONGEST_RUN, LONGEST_RUN if most is None else most)
    runs = []
    for count in range(1, most + 1):
        if production.minutes(count) > minutes + AN_HOUR:
            break
        if output.missing(production.stock_needed(count), shelf.with_packs):
            break
        runs.append(production.run(count, prospect.earnings, prospect.prices))
    return runs


def _product_row(
    production: Production,
    capacity: output.Capacity[int],
    prospect: _Prospect | None,
    shelf: _Shelf,
    refused: Mapping[Product, str],
) -> ProductCapacity:
    """Return the row of a product, where one earns its share of the run that can be made."""
    product, run = production.product, prospect.run if prospect else None
    return ProductCapacity(
        product=product,
        count=capacity.count,
        limits=shelf.amounts(capacity.limits),
        further=capacity.further,
        to_buy=shelf.amounts(capacity.to_buy),
        then=tuple(shelf.materials[pk] for pk in capacity.then),
        price=prospect.earnings.price if prospect else product.price,
        earns=run.earned / run.count if run else None,
        minutes=run.minutes / run.count if run else None,
        problem=refused.get(product, ""),
    )


def _best(
    runs: Mapping[Product, Sequence[output.Run[int]]], shelf: _Shelf, minutes: Decimal
) -> BestMix:
    mix = output.best_mix(runs, shelf.available, minutes)
    additions = output.gains(runs, shelf.available, minutes, shelf.extra, AN_HOUR)
    materials = {pk for several in runs.values() for run in several for pk in run.needs}
    there = shelf.available
    leftover = {pk: mix.left[pk] for pk in materials if there[pk]}
    return BestMix(
        made=tuple(
            MixLine(product, run.count, run.earned, run.minutes)
            for product, run in mix.runs.items()
        ),
        earned=mix.earned,
        minutes=mix.minutes,
        minutes_left=mix.minutes_left,
        left=shelf.amounts(dict(sorted(leftover.items(), key=lambda one: one[1] / there[one[0]]))),
        proven=mix.proven,
        more=tuple(
            PackGain(one.earned, shelf.packs.get(one.material) if one.material else None)
            for one in additions
        ),
    )


def _nearest(possible: Iterable[ProductCapacity]) -> ProductCapacity | None:
    """Return what lacks the fewest materials, where nothing can be made at all."""
    priced = [one for one in possible if not one.problem]
    if not priced or any(one.count for one in priced):
        return None
    return min(priced, key=lambda one: (len(one.limits), one.product.name))
