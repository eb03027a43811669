"""What to buy: the plan, its sheet, and the orders made of it."""

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from inventory.buying import papers, purchasing
from inventory.buying.purchasing.planning import StudioPlan
from inventory.models import PurchaseOrder
from studio.access import member_page, require
from studio.errors import StudioError, in_words
from studio.money import MoneyError, parse_money
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.sight import COSTS, seen_by
from studio.views.form_page import action


def _plan(request: StudioRequest, budget: str) -> StudioPlan:
    """Work out what to buy for at most ``budget``, as a person typed it who sees costs."""
    if budget:
        require(request.membership, COSTS)
    studio = request.studio
    with in_words(MoneyError):
        most = parse_money(budget, studio.currency) if budget else None
    return purchasing.plan(studio=studio, budget=most)


@require_safe
@member_page("viewer")
def reorder(request: StudioRequest) -> HttpResponse:
    """Show what to buy now, where and in which packs, for the least money."""
    budget = request.GET.get("budget", "").strip()
    context: dict[str, Any] = {"budget": budget}
    try:
        plan = context["plan"] = _plan(request, budget)
    except StudioError as error:
        context["problem"] = str(error)
    else:
        context["dearer"] = [way for way in plan.compared_with if way.saving > 0]
    return render(request, "inventory/buying/reorder.html", context)


@require_safe
@member_page("viewer")
def reorder_sheet(request: StudioRequest) -> HttpResponse:
    """The reorder sheet as a PDF, all suppliers or one."""
    supplier = request.GET.get("supplier")
    try:
        plan = _plan(request, request.GET.get("budget", "").strip())
    except StudioError as error:
        messages.error(request, str(error))
        return redirect("reorder")
    if supplier and supplier not in {str(order.supplier.pk) for order in plan.orders}:
        raise Http404("Nothing is to be bought there.")
    return pdf_response(
        papers.reorder_sheet(request.studio, plan, supplier, seen_by(request.membership)),
        "reorder-sheet.pdf",
    )


@require_POST
@member_page("maker")
def make_orders(request: StudioRequest) -> HttpResponse:
    """Turn the plan into draft orders."""
    budget = request.POST.get("budget", "").strip()

    def done(orders: Sequence[PurchaseOrder]) -> tuple[str, str]:
        if len(orders) == 1:
            return f"{orders[0]} is a draft: look it over, then send it.", reverse(
                "order", args=[orders[0].number]
            )
        return f"{len(orders)} drafts are made: look them over, then send them.", reverse("orders")

    return action(
        request,
        lambda: purchasing.make_orders(
            studio=request.studio, by=request.user, plan=_plan(request, budget)
        ),
        done,
        back=reverse("reorder"),
    )
