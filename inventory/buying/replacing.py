"""Work out what each material costs to replace, and keep it for the pages.

It rests on the usual demand and on what the purchase plan would buy for it, never on single jobs:
accepting one moves no price. Whatever changes packs, terms, settings or use puts a renewal in line;
`manage.py tidy` does so for every studio once a day, since use is counted by the day.
"""

from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from datetime import timedelta
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.db.models.signals import post_delete, post_save
from django.dispatch import receiver
from django.utils import timezone
from django_tasks import task

from inventory.buying import reordering
from inventory.buying.demand import HISTORY_DAYS, Level, levels
from inventory.buying.purchasing.terms import as_money, offer_of, terms_of
from inventory.buying.reordering import Deliveries, MaterialNeed, Replacement, Restock
from inventory.models import (
    Delivery,
    Entry,
    Material,
    Movement,
    Pack,
    ReplacementCost,
    Supplier,
)
from inventory.words import about, amount, average
from studio import jobs
from studio.amounts import Total
from studio.models import Studio
from studio.money import VALUE_PLACES, ZERO
from studio.signals import settings_changed
from studio.units import QUANTITY_PLACES

Source = ReplacementCost.Source
# How far back deliveries tell what duty a supplier's goods bear.
DUTY_DAYS = 365
DEAREST = Decimal("999999999")
TENTH = Decimal("0.1")
# Settings that what is bought, and how often, depends on.
SETTINGS = {"review_days", "currency", "time_zone"}


def renew_replacement_costs(*, studio: Studio) -> int:
    """Work out what each material of a studio costs to replace; return how many have a cost.

    What is bought is the cheapest purchase that covers the usual use of every material until the
    next review, in whole packs at their breaks, with least orders, shipping fees and waivers; of
    what has no use on record it is the least that is sold. See `reordering.replacements` for how
    its cost is shared over what it will serve. What nobody sells costs what was last paid for it
    or, never bought, what its stock is worth.

    It is worked out before anything is written, so that nobody waits for it; of two renewals at
    once the one that read later stands.
    """
    read_at, today = timezone.now(), studio.today()
    rows = {row.material_id: row for row in _planned(studio)}
    others = [one for one in studio.materials.filter(is_stocked=True) if one.pk not in rows]
    rows |= {row.material_id: row for row in _without_packs(studio, others)}
    for row in rows.values():
        row.read_at, row.made_on = read_at, today
    return _keep(studio, rows)


@transaction.atomic
def _keep(studio: Studio, rows: Mapping[int, ReplacementCost]) -> int:
    # Locking the studio has two renewals take turns; what moves stock does not wait for it.
    Studio.objects.select_for_update(no_key=True).get(pk=studio.pk)
    read_at = next(iter(rows.values())).read_at if rows else timezone.now()
    kept = studio.replacement_costs
    if kept.filter(read_at__gt=read_at).exists():
        return kept.count()
    there = set(studio.materials.values_list("pk", flat=True))
    kept.all().delete()
    ReplacementCost.objects.bulk_create(row for key, row in rows.items() if key in there)
    return len(rows)


def renew_all() -> None:
    """Put a renewal in line for every studio: days pass, and the usual use with them."""
    for key in Studio.objects.filter(restoring=None).values_list("pk", flat=True):
        jobs.enqueue(renew, key)


@task()
def renew(studio_id: int) -> None:
    """Renew the replacement costs of a studio, if it is still there."""
    studio = Studio.objects.filter(pk=studio_id, restoring=None).first()
    if studio is not None:
        renew_replacement_costs(studio=studio)


@receiver([post_save, post_delete], sender=Material)
@receiver([post_save, post_delete], sender=Pack)
@receiver([post_save, post_delete], sender=Supplier)
@receiver(post_save, sender=Entry)
def _renew_later(instance: Material | Pack | Supplier | Entry, **kwargs: Any) -> None:
    jobs.enqueue(renew, instance.studio_id)


@receiver(settings_changed)
def _renew_with_settings(
    sender: Any, studio: Studio, changed: Collection[str], **kwargs: Any
) -> None:
    if SETTINGS & set(changed):
        jobs.enqueue(renew, studio.pk)


def _planned(studio: Studio) -> Iterable[ReplacementCost]:
    """Yield what each material costs that somebody sells."""
    offered = studio.packs.on_offer().filter(price__gt=0, material__is_stocked=True)
    packs: dict[Hashable, Pack] = {
        pack.pk: pack for pack in offered.select_related("material", "supplier")
    }
    sold = {pack.material_id for pack in packs.values()}
    standing: dict[Hashable, Level] = {
        level.material.pk: level for level in levels(studio) if level.material.pk in sold
    }
    suppliers = {pack.supplier_id: pack.supplier for pack in packs.values()}
    terms = [terms_of(supplier) for supplier in suppliers.values()]
    plan = reordering.plan(
        [_need(level, studio.review_days) for level in standing.values()],
        [offer_of(pack) for pack in packs.values()],
        terms,
    )
    purchase = [
        Restock(
            material=line.material,
            pack=line.pack,
            supplier=line.supplier,
            count=line.count,
            size=line.size,
            goods=int(line.cost),
            per_day=_per_day(standing[line.material]),
            at_once=_exact(max(standing[line.material].demand.uses, default=0.0)),
            life_days=standing[line.material].material.shelf_life_days,
            opened_days=standing[line.material].material.opened_life_days,
        )
        for line in plan.lines
    ]
    found, deliveries = reordering.replacements(
        purchase, terms, studio.review_days, _duties(studio)
    )
    by_supplier = {one.supplier: one for one in deliveries}
    for one in found:
        yield _row(studio, one, standing[one.material], packs, by_supplier)


def _per_day(level: Level) -> Decimal:
    return _exact(level.demand.mean_per_day)


def _exact(quantity: float) -> Decimal:
    return Decimal(repr(quantity)).quantize(VALUE_PLACES, ROUND_HALF_UP)


def _need(level: Level, days: int) -> MaterialNeed[Hashable]:
    """Return what is used until the next review; the least there is, where no use is on record."""
    one = Decimal(1) if level.material.unit == Material.Unit.EACH else QUANTITY_PLACES
    used = (_per_day(level) * days / one).to_integral_value(ROUND_CEILING) * one
    return MaterialNeed(level.material.pk, max(used, one))


def _row(
    studio: Studio,
    found: Replacement,
    level: Level,
    packs: Mapping[Hashable, Pack],
    deliveries: Mapping[Hashable, Deliveries],
) -> ReplacementCost:
    material = level.material
    return ReplacementCost(
        studio=studio,
        material=material,
        unit_cost=min(_rounded(found.unit_cost / 1000, VALUE_PLACES), DEAREST),
        source=Source.PLAN,
        serves=_rounded(found.serves, QUANTITY_PLACES),
        lasts_days=None if found.days is None else min(_rounded(found.days, TENTH), DEAREST),
        used_per_day=_per_day(level).quantize(QUANTITY_PLACES, ROUND_HALF_UP),
        basis={
            "packs": [_pack(line, packs, deliveries[line.supplier]) for line in found.lines],
            "deliveries": [
                _delivery(packs, line, deliveries[line.supplier])
                for line in {line.supplier: line for line in found.lines}.values()
            ],
        },
        assumed=_assumed(studio, material, level, found),
    )


def _pack(line: Restock, packs: Mapping[Hashable, Pack], delivery: Deliveries) -> dict[str, Any]:
    pack = packs[line.pack]
    return {
        "pack_id": pack.pk,
        "pack": str(pack),
        "supplier_id": pack.supplier_id,
        "supplier": pack.supplier.name,
        "count": line.count,
        "size": f"{line.size:f}",
        "goods": f"{as_money(line.goods):f}",
        "delivery_share": f"{_rounded(line.goods * delivery.share / 1000, VALUE_PLACES):f}",
    }


def _delivery(
    packs: Mapping[Hashable, Pack], line: Restock, delivery: Deliveries
) -> dict[str, Any]:
    return {
        "supplier": packs[line.pack].supplier.name,
        "every_days": None if delivery.days is None else f"{_rounded(delivery.days, TENTH):f}",
        "goods": f"{_rounded(delivery.goods / 1000, VALUE_PLACES):f}",
        "shipping": f"{as_money(delivery.shipping):f}",
        "duty": f"{_rounded(delivery.duty, VALUE_PLACES):f}",
    }


def _assumed(studio: Studio, material: Material, level: Level, found: Replacement) -> str:
    if not level.demand.uses:
        return "No use is on record, so one purchase is taken to be used up, whenever that is."
    said = (
        f"It is used as in the last {min(level.demand.days, HISTORY_DAYS)} days, "
        f"{average(material, level.demand.mean_per_day)} a day, and bought to last at least "
        f"{studio.review_days} days."
    )
    if found.serves < Fraction(found.bought):
        served = _rounded(found.serves, QUANTITY_PLACES)
        said += (
            f" Of {about(material, found.bought)} only {amount(material, served)} are used "
            "before the rest spoils."
        )
    return said


def _rounded(number: Fraction, places: Decimal) -> Decimal:
    return (Decimal(number.numerator) / Decimal(number.denominator)).quantize(places, ROUND_HALF_UP)


def _duties(studio: Studio) -> dict[Hashable, Fraction]:
    """Return what duty added to the goods of each supplier's deliveries of the last year, [-]."""
    since = studio.today() - timedelta(days=DUTY_DAYS)
    standing = Delivery.objects.filter(
        studio=studio, received_on__gt=since, entry__reversed_by=None, supplier__isnull=False
    )
    rows = standing.order_by().annotate(goods=Total("entry__movements__bottle__price_paid"))
    duty: dict[Hashable, Decimal] = {}
    goods: dict[Hashable, Decimal] = {}
    for supplier, paid, rate, worth in rows.values_list("supplier", "duty", "rate", "goods"):
        duty[supplier] = duty.get(supplier, ZERO) + paid * rate
        goods[supplier] = goods.get(supplier, ZERO) + (worth or ZERO)
    return {key: Fraction(duty[key]) / Fraction(goods[key]) for key in duty if goods[key]}


def _without_packs(studio: Studio, materials: Sequence[Material]) -> Iterable[ReplacementCost]:
    """Yield what each material costs that nobody sells, as far as that is known."""
    paid = last_paid(materials)
    for material in materials:
        unit_cost, source = without_pack(material, paid)
        if unit_cost is not None:
            yield ReplacementCost(
                studio=studio,
                material=material,
                unit_cost=min(unit_cost, DEAREST),
                source=source,
                assumed="No pack of it is on offer, so it is taken to cost the same again.",
            )


def without_pack(material: Material, paid: Mapping[int, Decimal]) -> tuple[Decimal | None, Source]:
    """Return what one unit of a material that nobody sells costs, and where that is from."""
    if material.pk in paid:
        return paid[material.pk].quantize(VALUE_PLACES, ROUND_HALF_UP), Source.LAST_PAID
    # Nothing but what was on the shelf before, and nobody has said what that cost.
    is_unsaid = not material.value and material.kind != Material.Kind.MIX
    if material.on_hand and not is_unsaid:
        worth = material.value / material.on_hand
        return worth.quantize(VALUE_PLACES, ROUND_HALF_UP), Source.SHELF
    return None, Source.SHELF


def last_paid(materials: Iterable[Material]) -> dict[int, Decimal]:
    """Return {material key: what one unit cost landed when it last came in}, in one query.

    Opening stock worth nothing was put on the shelf by somebody who did not know what it cost.
    """
    bought = Movement.objects.filter(
        material__in=list(materials),
        kind__in=(Movement.Kind.RECEIPT, Movement.Kind.OPENING),
        entry__reversed_by=None,
    ).exclude(kind=Movement.Kind.OPENING, value=0)
    latest = bought.order_by().values("material").annotate(latest=Max("pk")).values("latest")
    rows = Movement.objects.filter(pk__in=latest).values_list("material_id", "value", "quantity")
    return {material: value / quantity for material, value, quantity in rows}
