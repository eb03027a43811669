"""The reorder sheet and orders on paper: plain values to a template.

Nothing is worked out there.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from inventory.buying.purchasing.orders import goods_of
from inventory.buying.purchasing.planning import StudioOrder, StudioPlan, last_paid
from inventory.buying.reordering import LeftOut
from inventory.buying.reordering.plans import Money
from inventory.models import Material, Pack, PurchaseOrder
from inventory.stock.shelf import local_day
from inventory.words import about, listed
from studio.models import Studio
from studio.money import ZERO, format_money
from studio.pdf import paper, render_pdf
from studio.sight import EVERYTHING

TEMPLATE = "inventory/buying/pdf/reorder_sheet.html"


def reorder_sheet(
    studio: Studio,
    plan: StudioPlan,
    supplier: int | str | None = None,
    sees: Mapping[str, bool] = EVERYTHING,
) -> bytes:
    """Return what to buy as the bytes of a PDF to carry into the shop.

    One section a supplier; with ``supplier``, the key of one, only that one's. ``sees`` is what
    whoever carries it sees (`studio.sight.seen_by`): without costs it has no prices.
    """
    return render_pdf(TEMPLATE, {**reorder_context(studio, plan, supplier), "sees": sees})


def order_sheet(order: PurchaseOrder, sees: Mapping[str, bool] = EVERYTHING) -> bytes:
    """Return one order as the bytes of a PDF to send or to carry into the shop."""
    return render_pdf(TEMPLATE, {**order_context(order), "sees": sees})


def orders_sheet(studio: Studio, orders: Sequence[PurchaseOrder]) -> bytes:
    """Return several orders as one reorder sheet, a section a supplier, as the bytes of a PDF."""
    parts = [_order_part(order) for order in orders]
    made_on = max(local_day(studio, order.created_at) for order in orders)
    sheet = _sheet(studio, "Reorder sheet", made_on, parts, ())
    return render_pdf(TEMPLATE, {**sheet, "sees": EVERYTHING})


def reorder_context(
    studio: Studio, plan: StudioPlan, supplier: int | str | None = None
) -> dict[str, Any]:
    """Return what the reorder sheet shows, of all suppliers or of one."""
    chosen = [
        part for part in plan.orders if supplier is None or str(part.supplier.pk) == str(supplier)
    ]
    parts = [_plan_part(part) for part in chosen]
    notes = plan.notes
    if plan.left_out is not None and supplier is None:
        notes = (*notes, _left_out(studio, plan.budget or ZERO, plan.left_out))
    return _sheet(studio, "Reorder sheet", plan.made_on, parts, notes)


def _left_out(studio: Studio, budget: Money, left: LeftOut[Material]) -> str:
    """Return a sentence on what the budget leaves out."""
    most, everything = (
        format_money(money, studio.currency, studio.locale) for money in (budget, left.all_total)
    )
    names = listed([f"{about(n.material, n.quantity)} of {n.material}" for n in left.needs])
    return f"Within the budget of {most}, this leaves out {names}. Everything takes {everything}."


def order_context(order: PurchaseOrder) -> dict[str, Any]:
    """Return what the sheet of one order shows."""
    made_on = order.sent_on or local_day(order.studio, order.created_at)
    sheet = _sheet(
        order.studio,
        str(order),
        made_on,
        [_order_part(order)],
        (order.notes,) if order.notes else (),
    )
    return {**sheet, "status": order.get_status_display()}


def _sheet(
    studio: Studio,
    title: str,
    made_on: date | None,
    parts: Sequence[dict[str, Any]],
    notes: Sequence[str],
) -> dict[str, Any]:
    return {
        "studio": studio,
        "paper": paper(studio.locale),
        "sheet_title": title,
        "made_on": made_on,
        "notes": notes,
        "parts": parts,
        "is_combined": len(parts) > 1,
        **{
            what: sum((part[what] for part in parts), ZERO)
            for what in ("goods", "shipping", "total")
        },
    }


def _plan_part(part: StudioOrder) -> dict[str, Any]:
    return {
        "supplier": part.supplier,
        "tiers": part.supplier.shipping_tiers,
        "arrives_on": part.arrives_on,
        "lines": [
            {
                **_pack(line.pack),
                "count": line.count,
                "last_paid": line.last_paid,
                "breaks": line.pack.price_breaks,
                "unit_price": line.unit_price,
                "amount": line.cost,
                "why": line.why,
                "needed_by": line.needed_by,
                "late": line.late,
            }
            for line in part.lines
        ],
        "goods": part.goods,
        "shipping": part.shipping,
        "total": part.total,
    }


def _order_part(order: PurchaseOrder) -> dict[str, Any]:
    lines = list(order.lines.select_related("pack__material"))
    paid = last_paid(order.studio, [line.pack_id for line in lines])
    goods = goods_of(order)
    return {
        "supplier": order.supplier,
        "tiers": order.supplier.shipping_tiers,
        "arrives_on": order.expected_on,
        "lines": [
            {
                **_pack(line.pack),
                "count": line.count,
                "last_paid": paid.get(line.pack_id),
                "breaks": line.pack.price_breaks,
                "unit_price": line.unit_price,
                "amount": line.count * line.unit_price,
                "why": line.why,
                "needed_by": line.needed_by,
                "late": False,
            }
            for line in lines
        ],
        "goods": goods,
        "shipping": order.shipping,
        "total": goods + order.shipping,
    }


def _pack(pack: Pack) -> dict[str, Any]:
    return {
        "material": pack.material.name,
        "pigments": pack.material.pigments,
        "pack": str(pack),
        "code": pack.supplier_code,
    }
