"""The page of a commission: its pieces, what they take, what is short, quotes, money and days."""

from typing import Any

from django.db.models import Count, Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from pricing.bench.views.pictures import pictures_of
from pricing.calendar.late import late_of
from pricing.calendar.what_if import earliest_promise
from pricing.commissions import orders as work
from pricing.commissions.owing import account
from pricing.commissions.promised_day import PROMISABLE
from pricing.commissions.stock_checks import stock_check
from pricing.commissions.views.commissions import OPEN, STEPS, commission_or_404
from pricing.estimating.batches import for_lines
from pricing.estimating.estimates import estimate_commission
from pricing.estimating.fitting import doubts_of
from pricing.models import Commission, CommissionLine
from pricing.quoting.tiles import tiles_by_line
from pricing.readiness.asking import gone_on_of
from studio.access import member_page
from studio.errors import StudioError
from studio.requests import StudioRequest

# While these last there is something to mix, buy and pour.
TO_DO = (*OPEN, "accepted", "in_work")
UNDER_WAY = ("accepted", "in_work", "ready")


@require_safe
@member_page("viewer")
def commission(request: StudioRequest, number: int) -> HttpResponse:
    """Show one commission: its pieces, the paint they take, what is short, its quotes."""
    row = commission_or_404(request, number)
    lines = list(_lines(row))
    tiles = tiles_by_line(row) if any(line.is_test for line in lines) else {}
    context: dict[str, Any] = {
        "commission": row,
        "lines": [(line, doubts_of(line), tiles.get(line.pk, [])) for line in lines],
        "quotes": row.quotes.all(),
        "events": row.events.select_related("by"),
        "steps": _steps(row),
        "by_hand": [(status, STEPS[status]) for status in work.BY_HAND[row.status]],
        "is_open": row.status in OPEN,
        "takes_work": row.status in UNDER_WAY,
        "gone_on": gone_on_of(row),
        **pictures_of(row),
    }
    if row.status not in OPEN:
        context |= _money(row)
    if context["lines"] and row.status in TO_DO:
        context |= _materials(row)
    if context["lines"] and row.status in PROMISABLE:
        context |= _earliest_day(row)
    if row.status in (*PROMISABLE, Commission.Status.READY):
        context["late"] = late_of(row, context.get("work"))
    return render(request, "pricing/quoting/commission.html", context)


def _money(commission: Commission) -> dict[str, object]:
    """Return what was agreed, paid and invoiced; empty where nothing was."""
    now = account(commission)
    invoices = list(commission.invoices.select_related("credited_by", "credits").defer("frozen"))
    payments = list(commission.payments.select_related("reversed_by"))
    if not (now.agreed or payments or invoices):
        return {}
    return {
        "account": now,
        "payments": payments,
        "invoices": invoices,
        "standing_invoice": any(
            not one.credits_id and not hasattr(one, "credited_by") for one in invoices
        ),
    }


def _materials(commission: Commission) -> dict[str, object]:
    """Return the estimate of the work and what of it is short, or why there is none."""
    try:
        estimate = estimate_commission(commission)
        needs = None
        if commission.status in OPEN:  # nothing is made yet, so it needs all of it
            needs = {material: need.to_mix for material, need in estimate.needs.items()}
        check = stock_check(commission, needs)
    except StudioError as error:
        return {"problem": str(error)}
    return {"estimate": estimate, "one_batch": for_lines(estimate.lines), "check": check}


def _earliest_day(commission: Commission) -> dict[str, object]:
    """Return the first day it can be ready, or why there is none."""
    try:
        return {"work": earliest_promise(commission)}
    except StudioError as error:
        return {"not_planned": str(error)}


def _lines(commission: Commission) -> QuerySet[CommissionLine]:
    chosen = ("surface", "technique", "palette", "topcoat", "packaging")
    packed = Q(sets__unpacked_at=None, sets__written_off_at=None)
    return commission.lines.select_related(*chosen).annotate(packed=Count("sets", filter=packed))


def _steps(commission: Commission) -> list[tuple[str, str]]:
    """Return (label, state) of each step from enquiry to paid; the state is done, now or next."""
    way = ("enquiry", "quoted", "accepted", "in_work", "ready", "delivered", "paid")
    if commission.status not in way:
        return []
    reached = way.index(commission.status)
    states = ["done"] * reached + ["now"] + ["next"] * (len(way) - reached - 1)
    return [(Commission.Status(step).label, state) for step, state in zip(way, states, strict=True)]
