"""What a studio can make now: how many of each product, what limits it, and the best mix of all.

What is available is what is on hand and held for nobody. What a product *earns* is its price less
tax, fees and the materials in it at what their bottles cost: it pays the hours, the overhead and
the profit. Hours are no cost here, since they are what is shared out.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Pack, with_promises
from pricing.costing import output
from pricing.costing.product_runs import Bench, Earnings, Making
from pricing.costing.worth import prices
from pricing.earnings.possible import BestMix, Made, More, Possible, Producible
from studio.errors import StudioError, in_words
from studio.money import ZERO
from studio.rows import refuse_strangers

AN_HOUR = Decimal(60)
USUAL_HOURS = Decimal(8)
LONGEST_RUN = 60  # of one product in a mix; more than a working week makes


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

    def __init__(self, studio):
        rows = with_promises(studio.materials)
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


def products_of(studio):
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
    prices: dict
    run: output.Run


def _brought(studio, makings, counted, shelf, channel):
    """Return {making: what it brings} of what can be made with a pack more of each material.

    What could be made and has no price comes second, as {product: why}.
    """
    makings = [one for one in makings if not output.missing(one.to_have(1), shelf.with_packs)]
    needs = {}
    for making in makings:
        for material, need in making.needs(1).items():
            needs[material] = max(need.median, needs.get(material, ZERO))
    costed = prices(studio, needs)
    brought, refused = {}, {}
    for making in makings:
        try:
            earnings = making.earnings(costed, channel)
        except StudioError as error:
            refused[making.product] = str(error)
        else:
            run = making.run(max(counted[making.product].count, 1), earnings, costed)
            brought[making] = _Brought(earnings, costed, run)
    return brought, refused


def _runs(making, brought, shelf, minutes, most):
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


def _possible(making, alone, brought, shelf, refused):
    """Put into words' reach what was counted; one earns its share of the run that can be made."""
    product, run = making.product, brought and brought.run
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
