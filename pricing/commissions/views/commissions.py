"""Commissions: taken down, changed, moved on by hand."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from pricing.commissions import orders as work
from pricing.commissions.forms.commissions import CommissionForm, StepForm
from pricing.commissions.views.address import (
    number_in,
    palette_in_address,
    plan_in_address,
    pour_in_address,
)
from pricing.costing.catalogue import add_customer
from pricing.models import Commission, Customer
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import form_page
from studio.views.lists import period_page

OPEN = ("enquiry", "quoted")


def commission_or_404(request: StudioRequest, number: int) -> Commission:
    """Return a commission of the studio, or 404."""
    rows = request.studio.commissions.select_related("customer", "studio")
    return get_object_or_404(rows, number=number)


def page_of(commission: Commission) -> str:
    """Return where a commission is shown."""
    return reverse("commission", args=[commission.number])


@dataclass(frozen=True)
class ManualStep:
    """A step by hand: what its button says, what follows from it, whether it ends the work."""

    title: str
    lead: str
    is_danger: bool = False


STEPS = {
    "enquiry": ManualStep("Open it again", "It becomes an enquiry again, to be priced anew."),
    "in_work": ManualStep(
        "Begin the work", "It counts as in work, before a pour is logged for it."
    ),
    "ready": ManualStep(
        "Mark as ready", "Everything is made and packed, and waits for the customer."
    ),
    "delivered": ManualStep("Mark as delivered", "The customer has it."),
    "paid": ManualStep("Mark as paid", "What is still owed is recorded as paid today."),
    "declined": ManualStep(
        "Mark as declined",
        "The customer does not want it. A quote that is out is closed and can no longer be "
        "accepted. Opened again, it needs a new quote.",
        is_danger=True,
    ),
    "cancelled": ManualStep(
        "Cancel the work",
        "It is not made. Its quotes are closed and stock promised to it is free for other work. "
        "Opened again, it needs a new quote.",
        is_danger=True,
    ),
}


@require_safe
@member_page("viewer")
def commissions(request: StudioRequest) -> HttpResponse:
    """List the commissions, newest first."""
    status = request.GET.get("status", "")
    rows = request.studio.commissions.select_related("customer")
    if status in Commission.Status.values:
        rows = rows.filter(status=status)
    listed = period_page(request, rows, "created_at")
    context = {**listed, "status": status, "statuses": Commission.Status.choices}
    return render(request, "pricing/commissions/commissions.html", context)


def _customer(request: StudioRequest, data: dict[str, Any]) -> Customer:
    return data["customer"] or add_customer(
        studio=request.studio, name=data["new_customer"], email=data.get("new_email", "")
    )


@member_page("maker")
def commission_new(request: StudioRequest) -> HttpResponse:
    """Take an enquiry down; like a pour, its pieces are filled in on the next page."""
    like, palette = pour_in_address(request), palette_in_address(request)
    form = CommissionForm(
        request.POST or None,
        studio=request.studio,
        with_like=True,
        initial={
            "customer": number_in(request.GET.get("customer", "")) or None,
            "like": like.number if like else None,
        },
    )

    def next_page(commission: Commission) -> str:
        page, chosen = reverse("line-new", args=[commission.number]), form.cleaned_data["like"]
        if chosen is None:
            planned = plan_in_address(request)
            return f"{page}?{urlencode(planned)}" if planned else page
        asked: dict[str, int] = {"like": chosen.number}
        if chosen == like and palette is not None:
            asked["palette"] = palette.pk
        return f"{page}?{urlencode(asked)}"

    def act(data: dict[str, Any]) -> Commission:
        customer = _customer(request, data)
        details = {name: data[name] for name in ("title", "due_on", "notes")}
        return work.open_commission(
            studio=request.studio, by=request.user, customer=customer, **details
        )

    return form_page(
        request,
        form,
        title="New commission",
        act=act,
        done=lambda commission: ("Now add what is wanted.", next_page(commission)),
        button="Go on",
        back=reverse("commissions"),
        back_label="Commissions",
    )


@member_page("maker")
def commission_edit(request: StudioRequest, number: int) -> HttpResponse:
    """Change who it is for, its title, its date and notes."""
    commission = commission_or_404(request, number)
    names = ("customer", "title", "due_on", "notes")
    form = CommissionForm(
        request.POST or None,
        studio=request.studio,
        initial={name: getattr(commission, name) for name in names},
    )

    def act(data: dict[str, Any]) -> Commission:
        customer = _customer(request, data)
        changes = {name: data[name] for name in names} | {"customer": customer}
        return work.change_commission(commission=commission, by=request.user, **changes)

    return form_page(
        request,
        form,
        title=f"Change commission {commission.number}",
        act=act,
        done=lambda saved_commission: ("The commission is saved.", page_of(saved_commission)),
        back=page_of(commission),
    )


@member_page("maker")
def commission_step(request: StudioRequest, number: int) -> HttpResponse:
    """Take a step by hand: delivered, paid, declined, cancelled; its page says what follows."""
    commission = commission_or_404(request, number)
    form = StepForm(request.POST or None, initial={"status": request.GET.get("status")})
    step = STEPS.get(form["status"].value())
    if step is None:
        return redirect(page_of(commission))
    return form_page(
        request,
        form,
        title=f"{step.title}: {commission.title}",
        lead=step.lead,
        act=lambda data: work.move_on(commission=commission, by=request.user, **data),
        done=lambda moved_commission: (
            f"{moved_commission} is {moved_commission.get_status_display().lower()}.",
            page_of(moved_commission),
        ),
        button=step.title,
        is_danger=step.is_danger,
        back=page_of(commission),
        back_label=commission,
    )
