"""What to buy: what is needed, from whom and in which packs, for the least money."""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from math import ceil
from typing import TypeVar

from django.db.models import Max

from inventory.buying import reordering
from inventory.buying.purchasing.needs import needs as needs_of
from inventory.buying.purchasing.needs import on_drafts
from inventory.buying.purchasing.terms import as_money, in_units, offer_of, terms_of
from inventory.buying.purchasing.unsold import unsold_notes
from inventory.buying.reordering import (
    Comparison,
    LeftOut,
    MaterialNeed,
    PlanLine,
    PlanProblem,
    PurchasePlan,
    SupplierOrder,
    Words,
)
from inventory.buying.reordering.plans import KeyLine, KeyPlan
from inventory.errors import PlanRefused
from inventory.models import Material, Movement, Pack, Supplier
from inventory.validators import checked_price
from inventory.words import about
from studio.dates import in_full as day
from studio.models import Studio
from studio.money import format_money

# With the studio's rows in place of their keys.
StudioLine = PlanLine[Material, Pack, Supplier]
StudioOrder = SupplierOrder[Material, Pack, Supplier]
StudioPlan = PurchasePlan[Material, Pack, Supplier]


def plan(
    *,
    studio: Studio,
    extra_needs: Iterable[MaterialNeed[Material]] = (),
    budget: Decimal | None = None,
) -> StudioPlan:
    """Return the cheapest purchase that covers what is held beyond stock and what runs low.

    What is on order, and what stands on draft orders, counts as coming. ``extra_needs`` are
    `MaterialNeed` with a material of the studio and an amount to buy on top; ``budget`` is the most
    to spend, shipping included: where it is too small for everything, the most pressing is covered
    and the rest is ``left_out``. Materials that nobody sells are left out and named in the notes,
    as is what arrives after the day it is needed. Raises `PlanRefused` when the budget covers
    nothing at all; the sentence says what is the least that could be bought.
    """
    drafts = on_drafts(studio)
    needs = [_need_of(need.material.pk, need) for need in extra_needs] + needs_of(studio, drafts)
    packs = _packs(studio)
    words = _words(studio, packs)
    sold = {pack.material_id for pack in packs.values()}
    unsold = list(dict.fromkeys(need.material for need in needs if need.material not in sold))
    suppliers: dict[Hashable, Supplier] = {
        pack.supplier_id: pack.supplier for pack in packs.values()
    }
    today = studio.today()
    try:
        key_plan = reordering.plan(
            [need for need in needs if need.material in sold],
            [offer_of(pack) for pack in packs.values()],
            [terms_of(supplier) for supplier in suppliers.values()],
            budget=None if budget is None else in_units(budget),
            today=today,
            allow_late=True,
            words=words,
        )
    except PlanProblem as problem:
        raise PlanRefused(str(problem)) from problem
    notes = unsold_notes(studio, unsold, words) if unsold else []
    notes += _late(key_plan, words) + _unproven(key_plan)
    if drafts:
        notes.append("What stands on draft orders counts as coming: send them, or cancel them.")
    return _in_rows(key_plan, studio, packs, suppliers, budget, notes)


def _in_rows(
    key_plan: KeyPlan,
    studio: Studio,
    packs: Mapping[Hashable, Pack],
    suppliers: Mapping[Hashable, Supplier],
    budget: Decimal | None,
    notes: Sequence[str],
) -> StudioPlan:
    """Return a plan with the studio's rows in place of their keys, and its currency."""
    paid = last_paid(studio, [packs[line.pack].pk for line in key_plan.lines])

    def line_of(line: KeyLine) -> StudioLine:
        pack = packs[line.pack]
        return PlanLine(
            material=pack.material,
            pack=pack,
            supplier=pack.supplier,
            count=line.count,
            size=line.size,
            unit_price=as_money(line.unit_price),
            cost=as_money(line.cost),
            needed_by=line.needed_by,
            arrives_on=line.arrives_on,
            late=line.late,
            why=line.why,
            last_paid=paid.get(pack.pk),
        )

    return PurchasePlan(
        orders=tuple(
            SupplierOrder(
                supplier=suppliers[order.supplier],
                lines=tuple(map(line_of, order.lines)),
                goods=as_money(order.goods),
                shipping=as_money(order.shipping),
                arrives_on=order.arrives_on,
            )
            for order in key_plan.orders
        ),
        gap=key_plan.gap,
        proven=key_plan.proven,
        compared_with=tuple(
            Comparison(
                way=way.way,
                supplier=suppliers.get(way.supplier),
                total=as_money(way.total),
                saving=as_money(way.saving),
                proven=way.proven,
            )
            for way in key_plan.compared_with
        ),
        left_out=_left_out(key_plan.left_out, studio),
        made_on=key_plan.made_on,
        budget=budget,
        notes=tuple(notes),
    )


def _packs(studio: Studio) -> dict[Hashable, Pack]:
    """Return the packs that can be bought, by key; what is free of charge is no offer."""
    rows = studio.packs.on_offer().filter(price__gt=0).select_related("material", "supplier")
    return {pack.pk: pack for pack in rows}


Thing = TypeVar("Thing", bound=Hashable)


def _need_of(material: Thing, need: MaterialNeed[Hashable]) -> MaterialNeed[Thing]:
    """Return a need with another name for its material: its key, or its row."""
    return MaterialNeed(material, need.quantity, need.needed_by, need.reason, need.rank)


def _words(studio: Studio, packs: Mapping[Hashable, Pack]) -> Words:
    materials: dict[Hashable, Material] = {
        material.pk: material for material in studio.materials.all()
    }
    suppliers: dict[Hashable, Supplier] = {
        pack.supplier_id: pack.supplier for pack in packs.values()
    }
    return Words(
        material=lambda key: materials[key].name,
        supplier=lambda key: suppliers[key].name,
        pack=lambda key: str(packs[key]),
        money=lambda units: format_money(as_money(units), studio.currency, studio.locale),
        quantity=lambda key, quantity: about(materials[key], quantity),
        day=day,
    )


def _left_out(left_out: LeftOut[Hashable] | None, studio: Studio) -> LeftOut[Material] | None:
    if left_out is None:
        return None
    materials = studio.materials.in_bulk({need.material for need in left_out.needs})
    # What fills one shelf up is two needs to the arithmetic and one to a person.
    merged: dict[tuple[Hashable, date | None, str], MaterialNeed[Hashable]] = {}
    for need in left_out.needs:
        key = need.material, need.needed_by, need.reason
        first = merged.get(key)
        merged[key] = (
            need if first is None else replace(first, quantity=first.quantity + need.quantity)
        )
    return LeftOut(
        needs=tuple(_need_of(materials[need.material], need) for need in merged.values()),
        all_total=as_money(left_out.all_total),
        next_total=as_money(left_out.next_total),
        least_proven=left_out.least_proven,
        proven=left_out.proven,
    )


def _late(key_plan: KeyPlan, words: Words) -> list[str]:
    return [
        str(
            PlanProblem.too_late(
                line.material, line.needed_by, line.arrives_on, line.supplier, words
            )
        )
        for line in key_plan.lines
        if line.late and line.needed_by and line.arrives_on
    ]


def _unproven(key_plan: KeyPlan) -> list[str]:
    """Say what the search left open when it ended: page, paper and API show the notes."""
    notes: list[str] = []
    left_out = key_plan.left_out
    if not key_plan.proven:
        share = ceil(key_plan.gap * 1000) / 10
        notes.append(f"The search ended first: a cheaper way may cost up to {share:g} % less.")
    if left_out and not left_out.proven:
        notes.append("The search ended first: the budget may cover more than is bought here.")
    if left_out and not left_out.least_proven:
        notes.append("What covers more is the least found; it may cost less.")
    return notes


def last_paid(studio: Studio, pack_ids: Iterable[int]) -> dict[int, Decimal]:
    """Return {pack key: what the invoice asked for the last one}, [currency], in one query.

    Of packs that came together as one lot it is the share of each.

    Opening stock has a value, but no invoice; a delivery that was undone was none.
    """
    paid = studio.bottles.filter(
        pack__in=pack_ids,
        price_paid__isnull=False,
        movements__kind=Movement.Kind.RECEIPT,
        movements__entry__reversed_by=None,
    ).order_by()
    last = paid.values("pack").annotate(last=Max("pk")).values("last")
    rows = studio.bottles.filter(pk__in=last).select_related("pack", "material")
    return {
        row.pack_id: checked_price(row.price_paid / row.pack_count)
        for row in rows
        if row.pack_id is not None and row.price_paid is not None
    }
