"""What to buy: what is needed, from whom and in which packs, for the least money."""

from decimal import ROUND_CEILING, Decimal

from django.db.models import Max

from inventory import reordering
from inventory.errors import PlanRefused
from inventory.purchasing.needs import needs as needs_of
from inventory.purchasing.needs import on_drafts
from inventory.purchasing.plans import Comparison, Plan, PlanLine, PlanOrder
from inventory.reordering import Need, PlanProblem, Words
from inventory.words import about, day
from studio.money import format_money

# Prices are kept to a thousandth, and the plan counts in whole ones.
PRICE_UNITS = 1000


def plan(*, studio, extra_needs=(), budget=None, time_limit=2.0):
    """Return the cheapest purchase that covers what is held beyond stock and what runs low.

    What is on order, and what stands on draft orders, counts as coming. ``extra_needs`` are
    `inventory.reordering.Need` with a material of the studio and an amount to buy on top;
    ``budget`` is the most to spend, shipping included. Materials that nobody sells are left out and
    named in the notes, as is what arrives after the day it is needed. Raises `PlanRefused` when the
    budget is too small; the sentence says what it would cover.
    """
    drafts = on_drafts(studio)
    needs = [_plain(need) for need in extra_needs] + needs_of(studio, drafts)
    packs = _packs(studio)
    words = _words(studio, packs)
    sold = {pack.material_id for pack in packs.values()}
    unsold = list(dict.fromkeys(need.material for need in needs if need.material not in sold))
    suppliers = {pack.supplier_id: pack.supplier for pack in packs.values()}
    today = studio.today()
    try:
        found = reordering.plan(
            [need for need in needs if need.material in sold],
            [_offer(pack) for pack in packs.values()],
            [_terms(supplier) for supplier in suppliers.values()],
            budget=None if budget is None else _units(budget),
            time_limit=time_limit,
            today=today,
            allow_late=True,
            words=words,
        )
    except PlanProblem as problem:
        raise PlanRefused(str(problem)) from problem
    notes = [str(PlanProblem.nobody_sells(unsold, words))] if unsold else []
    notes += _late(found, words)
    if drafts:
        notes.append("What stands on draft orders counts as coming: send them, or cancel them.")
    paid = last_paid(studio, [line.pack for line in found.lines])
    return Plan(
        made_on=today,
        orders=tuple(_order(order, suppliers, packs, paid) for order in found.orders),
        compared_with=tuple(
            Comparison(way.way, suppliers.get(way.supplier), _money(way.total), _money(way.saving))
            for way in found.compared_with
        ),
        notes=tuple(notes),
        proven=found.proven,
        gap=found.gap,
        budget=budget,
    )


def _packs(studio):
    """Return the packs that can be bought, by key; what is free of charge is no offer."""
    rows = studio.packs.on_offer().filter(price__gt=0).select_related("material", "supplier")
    return {pack.pk: pack for pack in rows}


def _offer(pack):
    return reordering.Offer(
        material=pack.material_id,
        pack=pack.pk,
        supplier=pack.supplier_id,
        size=pack.size,
        price=_units(pack.price),
        min_count=pack.minimum_count,
    )


def _terms(supplier):
    free_over = supplier.free_shipping_over
    return reordering.Supplier(
        key=supplier.pk,
        minimum_order=_units(supplier.minimum_order),
        shipping_fee=_units(supplier.shipping_fee),
        free_over=None if free_over is None else _units(free_over),
        lead_days=int(supplier.lead_days.to_integral_value(ROUND_CEILING)),
    )


def _plain(need):
    return Need(need.material.pk, need.quantity, need.needed_by, need.reason)


def _words(studio, packs):
    materials = {material.pk: material for material in studio.materials.all()}
    suppliers = {pack.supplier_id: pack.supplier for pack in packs.values()}
    return Words(
        material=lambda key: materials[key].name,
        supplier=lambda key: suppliers[key].name,
        pack=lambda key: str(packs[key]),
        money=lambda units: format_money(_money(units), studio.currency, studio.locale),
        quantity=lambda key, quantity: about(materials[key], quantity),
        day=day,
    )


def _late(found, words):
    return [
        str(
            PlanProblem.too_late(
                line.material, line.needed_by, line.arrives_on, line.supplier, words
            )
        )
        for line in found.lines
        if line.late
    ]


def last_paid(studio, pack_ids):
    """Return {pack key: what the invoice asked for the last one}, [currency], in one query."""
    paid = studio.bottles.filter(pack__in=pack_ids, price_paid__isnull=False).order_by()
    last = paid.values("pack").annotate(last=Max("pk")).values("last")
    return dict(studio.bottles.filter(pk__in=last).values_list("pack", "price_paid"))


def _order(order, suppliers, packs, paid):
    return PlanOrder(
        supplier=suppliers[order.supplier],
        lines=tuple(
            PlanLine(
                pack=packs[line.pack],
                count=line.count,
                unit_price=_money(line.unit_price),
                cost=_money(line.cost),
                covers=line.covers,
                last_paid=paid.get(line.pack),
                needed_by=line.needed_by,
                arrives_on=line.arrives_on,
                late=line.late,
                why=line.why,
            )
            for line in order.lines
        ),
        goods=_money(order.goods),
        shipping=_money(order.shipping),
        arrives_on=order.arrives_on,
    )


def _units(money):
    return int((money * PRICE_UNITS).to_integral_value(ROUND_CEILING))


def _money(units):
    return Decimal(units) / PRICE_UNITS
