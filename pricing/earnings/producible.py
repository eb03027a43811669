"""What a studio can make now: how many of each product, what limits it, and the best mix of all.

What is available is what is on hand and held for nobody. What a product *earns* is its price less
tax, fees and the materials in it at what their bottles cost: it pays the hours, the overhead and
the profit. Hours are no cost here, since they are what is shared out.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet

from inventory.models import Material, Pack, with_promises
from pricing.costing import output
from pricing.costing.product_runs import Bench, Earnings, Making
from pricing.costing.worth import MaterialPrice, prices
from pricing.earnings.possible import Amounts, BestMix, Made, More, Possible, Producible
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
    channel: Channel | None = None,
    most: Mapping[int, int] | None = None,
) -> Producible:
    """Work out what can be made now; the number of queries does not grow with the products.

    Parameters
    ----------
    studio : Studio
    hours : Decimal
        Hands-on hours there are for the mix, [h]
    channel : Channel, optional
        Where it would be sold, for its fees; straight from the studio without one.
    most : mapping of int to int, optional
        By a product's key, how many of it can be sold, [-]; without limit where it is not named.

    Returns
    -------
    producible : Producible
    """
    refuse_strangers(studio, channel)
    shelf, bench = _Shelf(studio), Bench(studio)
    makings: list[Making] = []
    counted: dict[Product, output.Alone[int]] = {}
    refused: dict[Product, str] = {}
    for product in products_of(studio):
        making = Making(product, bench)
        try:
            counted[product] = output.how_many(making.to_have, shelf.available, making.most)
            makings.append(making)
        except StudioError as error:
            refused[product] = str(error)
    minutes = Decimal(hours) * 60
    brought, refused_price = _brought(studio, makings, counted, shelf, channel)
    runs = {
        making.product: _runs(making, one, shelf, minutes, (most or {}).get(making.product.pk))
        for making, one in brought.items()
    }
    possible = [
        _possible(making, counted[making.product], brought.get(making), shelf, refused_price)
        for making in makings
    ]
    possible += [Possible(product, problem=text) for product, text in refused.items()]
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


def products_of(studio: Studio) -> QuerySet[Product]:
    rows = studio.products.filter(archived_at=None).select_related(
        "surface__material",
        "technique",
        "palette__studio",
        "topcoat__resin",
        "topcoat__hardener",
        "packaging",
    )
    return rows.prefetch_related("palette__colours", "technique__steps")


@dataclass(frozen=True)
class _Brought:
    """What one product brings, and the run that shows it: all that can be made, or else one."""

    earnings: Earnings
    prices: dict[Material, MaterialPrice]
    run: output.Run[int]


def _brought(
    studio: Studio,
    makings: Sequence[Making],
    counted: Mapping[Product, output.Alone[int]],
    shelf: _Shelf,
    channel: Channel | None,
) -> tuple[dict[Making, _Brought], dict[Product, str]]:
    """Return {making: what it brings} of what can be made with a pack more of each material.

    What could be made and has no price comes second, as {product: why}.
    """
    makings = [one for one in makings if not output.missing(one.to_have(1), shelf.with_packs)]
    needs: dict[Material, Decimal] = {}
    for making in makings:
        for material, need in making.needs(1).items():
            needs[material] = max(need.median, needs.get(material, ZERO))
    costed = prices(studio, needs)
    brought: dict[Making, _Brought] = {}
    refused: dict[Product, str] = {}
    for making in makings:
        try:
            earnings = making.earnings(costed, channel)
        except StudioError as error:
            refused[making.product] = str(error)
        else:
            run = making.run(max(counted[making.product].count, 1), earnings, costed)
            brought[making] = _Brought(earnings, costed, run)
    return brought, refused


def _runs(
    making: Making, brought: _Brought, shelf: _Shelf, minutes: Decimal, most: int | None
) -> list[output.Run[int]]:
    """Return the runs worth a look: what a pack more of each and an hour more allow."""
    most = min(making.most, LONGEST_RUN, LONGEST_RUN if most is None else most)
    runs = []
    for count in range(1, most + 1):
        if making.minutes(count) > minutes + AN_HOUR:
            break
        if output.missing(making.to_have(count), shelf.with_packs):
            break
        runs.append(making.run(count, brought.earnings, brought.prices))
    return runs


def _possible(
    making: Making,
    alone: output.Alone[int],
    brought: _Brought | None,
    shelf: _Shelf,
    refused: Mapping[Product, str],
) -> Possible:
    """Put into words' reach what was counted; one earns its share of the run that can be made."""
    product, run = making.product, brought.run if brought else None
    return Possible(
        product=product,
        count=alone.count,
        limits=shelf.amounts(alone.limits),
        further=alone.further,
        to_buy=shelf.amounts(alone.to_buy),
        then=tuple(shelf.materials[pk] for pk in alone.then),
        price=brought.earnings.price if brought else product.price,
        earns=run.earned / run.count if run else None,
        minutes=run.minutes / run.count if run else None,
        problem=refused.get(product, ""),
    )


def _best(
    runs: Mapping[Product, Sequence[output.Run[int]]], shelf: _Shelf, minutes: Decimal
) -> BestMix:
    mix = output.best_mix(runs, shelf.available, minutes)
    found = output.gains(runs, shelf.available, minutes, shelf.extra, AN_HOUR)
    used = {pk for several in runs.values() for run in several for pk in run.needs}
    there = shelf.available
    left = {pk: mix.left[pk] for pk in used if there[pk]}
    return BestMix(
        made=tuple(
            Made(product, run.count, run.earned, run.minutes) for product, run in mix.runs.items()
        ),
        earned=mix.earned,
        minutes=mix.minutes,
        minutes_left=mix.minutes_left,
        left=shelf.amounts(dict(sorted(left.items(), key=lambda one: one[1] / there[one[0]]))),
        proven=mix.proven,
        more=tuple(
            More(one.earned, shelf.packs.get(one.material) if one.material else None)
            for one in found
        ),
    )


def _nearest(possible: Iterable[Possible]) -> Possible | None:
    """Return what lacks the fewest materials, where nothing can be made at all."""
    known = [one for one in possible if not one.problem]
    if not known or any(one.count for one in known):
        return None
    return min(known, key=lambda one: (len(one.limits), one.product.name))
