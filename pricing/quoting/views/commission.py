"""One commission whole: its pieces, what they take, what is short, its quotes, money and days."""

from django.db.models import Count, Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from pricing.bench.views.pictures import pictures_of
from pricing.calendar.what_if import earliest_promise
from pricing.commissions import orders as work
from pricing.commissions.owing import account
from pricing.commissions.promised_day import PROMISABLE
from pricing.commissions.views.commissions import OPEN, STEPS, asked_row
from pricing.estimating.estimates import estimate_commission
from pricing.estimating.resin import CAUTIONS
from pricing.models import Commission, CommissionLine
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
    found = asked_row(request, number)
    context = {
        "commission": found,
        "lines": list(_lines(found)),
        "quotes": found.quotes.all(),
        "events": found.events.select_related("by"),
        "steps": _steps(found),
        "by_hand": [(status, STEPS[status]) for status in work.BY_HAND[found.status]],
        "is_open": found.status in OPEN,
        "takes_work": found.status in UNDER_WAY,
        **pictures_of(found),
    }
    if found.status not in OPEN:
        context |= _money(found)
    if context["lines"] and found.status in TO_DO:
        context |= _what_it_takes(found)
    if context["lines"] and found.status in PROMISABLE:
        context |= _when(found)
    return render(request, "pricing/quoting/commission.html", context)


def _money(found: Commission) -> dict[str, object]:
    """Return what was agreed, paid and invoiced; nothing where there never was any."""
    now = account(found)
    invoices = list(found.invoices.select_related("credited_by", "credits").defer("frozen"))
    payments = list(found.payments.select_related("reversed_by"))
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


def _what_it_takes(found: Commission) -> dict[str, object]:
    """Return the estimate of the work and what of it is short, or why there is none."""
    try:
        estimate = estimate_commission(found)
        needs = None
        if found.status in OPEN:  # nothing is made yet, so it needs all of it
            needs = {material: need.to_mix for material, need in estimate.needs.items()}
        check = work.stock_check(found, needs)
    except StudioError as error:
        return {"problem": str(error)}
    return {"estimate": estimate, "check": check, "cautions": CAUTIONS}


def _when(found: Commission) -> dict[str, object]:
    """Return when it can honestly be ready, or why that cannot be said."""
    try:
        return {"work": earliest_promise(found)}
    except StudioError as error:
        return {"not_planned": str(error)}


def _lines(found: Commission) -> QuerySet[CommissionLine]:
    chosen = ("surface", "technique", "palette", "topcoat", "packaging")
    packed = Q(sets__unpacked_at=None, sets__written_off_at=None)
    return found.lines.select_related(*chosen).annotate(packed=Count("sets", filter=packed))


def _steps(found: Commission) -> list[tuple[str, str]]:
    """Return the words of the way from enquiry to paid, and how far this one has come."""
    way = ("enquiry", "quoted", "accepted", "in_work", "ready", "delivered", "paid")
    if found.status not in way:
        return []
    reached = way.index(found.status)
    states = ["done"] * reached + ["now"] + ["next"] * (len(way) - reached - 1)
    return [(Commission.Status(step).label, state) for step, state in zip(way, states, strict=True)]
