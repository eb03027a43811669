"""The bottles of each material as they are measured, now or at the end of a past day.

A past day is told by material, from its month end. Only the bottles that are measured by
themselves, because they had expired or were appraised, are told one by one from their movements.
"""

from collections import defaultdict
from datetime import date

from django.db.models import Q

from inventory.models import Bottle, Material, Movement
from inventory.stock.costing import StockItem
from inventory.stock.shelf import month_ends
from inventory.stock.shelf.month_ends import NOTHING, Balance
from pricing.models import Appraisal
from studio.amounts import Total
from studio.models import Studio
from studio.money import ZERO
from studio.periods import Period

# By what it is of, and that one's key.
Appraisals = dict[tuple[str, int], Appraisal]
Items = dict[Material, list[StockItem]]


def appraisals(studio: Studio, day: date | None) -> Appraisals:
    """Return {(field, key): appraisal}, the latest that stood for each thing, then or now."""
    rows = studio.appraisals.filter(withdrawn_at=None)
    if day is not None:
        end = Period(last=day).of_moments("at", studio.zone)["at__lt"]
        stood = Q(withdrawn_at=None) | Q(withdrawn_at__gte=end)
        rows = studio.appraisals.filter(stood, day__lte=day)
    latest: Appraisals = {}
    for one in rows:
        name = next(f for f in ("material", "bottle", "piece_set") if getattr(one, f"{f}_id"))
        latest.setdefault((name, getattr(one, f"{name}_id")), one)
    return latest


def items_now(studio: Studio, appraised: Appraisals) -> Items:
    """Return what is on hand by material, each bottle by itself, in one query."""
    today = studio.today()
    found: defaultdict[Material, list[StockItem]] = defaultdict(list)
    rows = Bottle.objects.filter(studio=studio, remaining__gt=0).select_related("material")
    for bottle in rows.order_by("material__name", "pk"):
        there = Balance(bottle.remaining, bottle.value)
        found[bottle.material].append(_item(bottle, there, appraised, today))
    return dict(found)


def items_on(studio: Studio, day: date, appraised: Appraisals) -> Items:
    """Return what was on hand by material at the end of a past day, in five queries at most.

    The bottles that are not apart are one item together.
    """
    there = month_ends.on_hand(studio, day)
    apart = _apart(studio, day, appraised)
    found: Items = {}
    materials = studio.materials.filter(pk__in=there).order_by("name", "pk")
    for material in materials:
        rest, items = there[material.pk], []
        # In a closed month a use may be booked before the late delivery that it was of.
        for bottle, its in apart.get(material.pk, ()) if rest.quantity > 0 else ():
            items.append(_item(bottle, its, appraised, day))
            rest = Balance(rest.quantity - its.quantity, rest.value - its.value)
        if rest.quantity > 0:
            items.append(StockItem(rest.quantity, max(rest.value, ZERO)))
        if items:
            found[material] = items
    return found


def _apart(
    studio: Studio, day: date, appraised: Appraisals
) -> dict[int, list[tuple[Bottle, Balance]]]:
    """Return the bottles that are measured by themselves, by material, and what was in each."""
    keys = {name: [key for of, key in appraised if of == name] for name in ("bottle", "material")}
    begins = Period(first=day).of_moments("archived_at", studio.zone)
    still_there = Q(archived_at=None) | Q(**begins)
    may_have_expired = Q(expires_on__lt=day) | Q(opened_on__lt=day)
    named = Q(pk__in=keys["bottle"]) | Q(material__in=keys["material"])
    rows = studio.bottles.filter(still_there, may_have_expired | named).select_related("material")
    bottles = [
        one for one in rows.order_by("pk") if _appraisal(one, appraised) or _has_expired(one, day)
    ]
    moved = Movement.objects.filter(bottle__in=bottles, entry__booked_on__lte=day).order_by()
    sums = moved.values_list("bottle").annotate(Total("quantity"), Total("value"))
    left = {key: Balance(*amounts) for key, *amounts in sums}
    found: defaultdict[int, list[tuple[Bottle, Balance]]] = defaultdict(list)
    for bottle in bottles:
        its = left.get(bottle.pk, NOTHING)
        if its.quantity > 0 and its.value >= 0:
            found[bottle.material_id].append((bottle, its))
    return found


def _item(bottle: Bottle, there: Balance, appraised: Appraisals, day: date) -> StockItem:
    """Return a bottle as the arithmetic sees it; its own appraisal goes before its material's."""
    one = _appraisal(bottle, appraised)
    value = None if one is None else round(one.value * there.quantity / one.quantity, 6)
    return StockItem(there.quantity, there.value, value, _has_expired(bottle, day))


def _appraisal(bottle: Bottle, appraised: Appraisals) -> Appraisal | None:
    own = appraised.get(("bottle", bottle.pk))
    one = own or appraised.get(("material", bottle.material_id))
    # What came later was not among what was appraised.
    return one if own or (one and bottle.received_on <= one.day) else None


def _has_expired(bottle: Bottle, day: date) -> bool:
    last: date | None = bottle.keeps_until
    return last is not None and last < day
