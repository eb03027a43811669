"""What a studio can make now: how many of each product, what limits it, and the best mix of all.

What is available is what is on hand and held for nobody. What a product *earns* is its price less
tax, fees and the materials in it at what their bottles cost: it pays the hours, the overhead and
the profit. Hours are no cost here, since they are what is shared out.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Material, Pack
from pricing import output
from pricing.belonging import refuse_strangers
from pricing.models import Product
from pricing.product_runs import Bench, Making
from pricing.worth import prices
from studio.errors import StudioError, in_words

ZERO = Decimal(0)
AN_HOUR = Decimal(60)
USUAL_HOURS = Decimal(8)
LONGEST_RUN = 60  # of one product in a mix; more than a working week makes

Amounts = tuple[tuple[Material, Decimal], ...]


@dataclass(frozen=True)
class Possible:
    """How many of one product can be made from what is there, and what stands in the way.

    ``limits`` is what one more would lack. With ``to_buy`` there could be ``further`` more, before
    ``then`` ran out too. ``price`` is what the customer reads, ``earns`` what one leaves, both
    [currency] and None for what cannot be made; ``problem`` says why nothing is known.
    """

    product: Product
    count: int = 0
    limits: Amounts = ()
    further: int = 0
    to_buy: Amounts = ()
    then: tuple[Material, ...] = ()
    price: Decimal | None = None
    earns: Decimal | None = None
    minutes: Decimal | None = None
    problem: str = ""


@dataclass(frozen=True)
class Made:
    """So many of a product in the mix: what they earn, [currency], and take, [min]."""

    product: Product
    count: int
    earned: Decimal
    minutes: Decimal


@dataclass(frozen=True)
class More:
    """What one more pack of something would add, [currency]; with no pack it is one more hour."""

    earned: Decimal
    pack: Pack | None = None


@dataclass(frozen=True)
class BestMix:
    """The mix that earns most: its products, [currency], [min], and what stays on the shelf.

    ``left`` has what the products take, what is nearest to running out first.
    """

    made: tuple[Made, ...]
    earned: Decimal
    minutes: Decimal
    minutes_left: Decimal
    left: Amounts
    proven: bool
    more: tuple[More, ...]


@dataclass(frozen=True)
class Producible:
    """Every product with how many of it can be made, and the best mix of them.

    ``nearest`` is what lacks least where nothing can be made at all.
    """

    possible: tuple[Possible, ...]
    best: BestMix
    nearest: Possible | None


def producible(studio, *, hours=USUAL_HOURS, channel=None, most: Mapping[int, int] | None = None):
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
    makings, counted, refused = [], {}, {}
    for product in _products(studio):
        making = Making(product, bench)
        try:
            counted[product] = output.how_many(making.to_have, shelf.available, making.most)
            makings.append(making)
        except StudioError as error:
            refused[product] = str(error)
    minutes = Decimal(hours) * 60
    reach = {one: _reach(one, shelf, minutes, (most or {}).get(one.product.pk)) for one in makings}
    runs, earnings, unpriced = _runs(studio, reach, channel)
    possible = [
        _possible(making, counted[making.product], runs, earnings, shelf, unpriced)
        for making in makings
    ]
    possible += [Possible(product, problem=text) for product, text in refused.items()]
    possible.sort(key=lambda one: (bool(one.problem), one.product.name))
    with in_words(output.OutputError):
        best = _best(runs, shelf, minutes)
    return Producible(tuple(possible), best, _nearest(possible))


class _Shelf:
    """What is there of each material and held for nobody, and what a pack would add."""

    def __init__(self, studio):
        rows = studio.materials.with_promises()
        self.materials = {row.pk: row for row in rows}
        self.available = {pk: max(row.available, ZERO) for pk, row in self.materials.items()}
        self.packs = {}
        packs = Pack.objects.on_offer().filter(material__in=self.materials)
        for pack in packs.select_related("material").order_by("-price", "-pk"):
            self.packs[pack.material_id] = pack  # the last one is the least to pay
        self.extra = {pk: pack.size for pk, pack in self.packs.items()}
        self.with_packs = {
            pk: there + self.extra.get(pk, ZERO) for pk, there in self.available.items()
        }

    def amounts(self, needs):
        return tuple((self.materials[pk], amount) for pk, amount in needs.items())


def _products(studio):
    rows = studio.products.filter(archived_at=None).select_related(
        "surface__material",
        "technique",
        "palette__studio",
        "topcoat__resin",
        "topcoat__hardener",
        "packaging",
    )
    return rows.prefetch_related("palette__colours", "technique__steps")


def _reach(making, shelf, minutes, most):
    """Return the largest run worth a look: what a pack more of each and an hour more allow."""
    most = min(making.most, LONGEST_RUN, LONGEST_RUN if most is None else most)
    for count in range(1, most + 1):
        if making.minutes(count) > minutes + AN_HOUR:
            return count - 1
        if output.missing(making.to_have(count), shelf.with_packs):
            return count - 1
    return most


def _runs(studio, reach, channel):
    """Return {product: runs} and {product: Earnings} of what can be made with a pack more.

    What can be made and has no price comes third, as {product: why}.
    """
    makings = [making for making, count in reach.items() if count]
    needs = {}
    for making in makings:
        for material, need in making.needs(1).items():
            needs[material] = max(need.median, needs.get(material, ZERO))
    costed = prices(studio, needs)
    runs, earnings, unpriced = {}, {}, {}
    for making in makings:
        product = making.product
        try:
            earnings[product] = making.earnings(costed, channel)
        except StudioError as error:
            unpriced[product] = str(error)
            continue
        counts = range(1, reach[making] + 1)
        runs[product] = [making.run(count, earnings[product], costed) for count in counts]
    return runs, earnings, unpriced


def _possible(making, alone, runs, earnings, shelf, unpriced):
    """Put into words' reach what was counted; one earns its share of the run that can be made."""
    product = making.product
    several = runs.get(product)
    run = several[max(min(alone.count, len(several)), 1) - 1] if several else None
    return Possible(
        product=product,
        count=alone.count,
        limits=shelf.amounts(alone.limits),
        further=alone.further,
        to_buy=shelf.amounts(alone.to_buy),
        then=tuple(shelf.materials[pk] for pk in alone.then),
        price=earnings[product].price if run else product.price,
        earns=run.earned / run.count if run else None,
        minutes=run.minutes / run.count if run else None,
        problem=unpriced.get(product, ""),
    )


def _best(runs, shelf, minutes):
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
        more=tuple(More(one.earned, shelf.packs.get(one.material)) for one in found),
    )


def _nearest(possible):
    """Return what lacks the fewest materials, where nothing can be made at all."""
    known = [one for one in possible if not one.problem]
    if not known or any(one.count for one in known):
        return None
    return min(known, key=lambda one: (len(one.limits), one.product.name))
