"""Commissions: taken down, changed, moved on by hand."""

from dataclasses import dataclass
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from pricing.commissions import orders as work
from pricing.commissions.forms.commissions import CommissionForm, StepForm
from pricing.costing.catalogue import add_customer
from pricing.models import Commission, Customer
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import form_page

OPEN = ("enquiry", "quoted")


def asked_row(request: StudioRequest, number: int) -> Commission:
    """Return a commission of the studio, or 404."""
    rows = request.studio.commissions.select_related("customer", "studio")
    return get_object_or_404(rows, number=number)


def page_of(commission: Commission) -> str:
    """Return where a commission is shown."""
    return reverse("commission", args=[commission.number])


@dataclass(frozen=True)
class Step:
    """A step by hand: what its button says, what follows from it, whether it ends the work."""

    title: str
    lead: str
    is_danger: bool = False


STEPS = {
    "enquiry": Step("Open it again", "It becomes an enquiry again, to be priced anew."),
    "in_work": Step("Begin the work", "It counts as in work, before a pour is logged for it."),
    "ready": Step("Mark as ready", "Everything is made and packed, and waits for the customer."),
    "delivered": Step("Mark as delivered", "The customer has it."),
    "paid": Step("Mark as paid", "What is still owed is recorded as paid today."),
    "declined": Step(
        "Mark as declined",
        "The customer does not want it. A quote that is out is closed and can no longer be "
        "accepted. Opened again, it needs a new quote.",
        is_danger=True,
    ),
    "cancelled": Step(
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
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    context = {"page": page, "status": status, "statuses": Commission.Status.choices}
    return render(request, "pricing/commissions/commissions.html", context)


def _customer(request: StudioRequest, data: dict[str, Any]) -> Customer:
    return data["customer"] or add_customer(
        studio=request.studio, name=data["new_customer"], email=data["new_email"]
    )


@member_page("maker")
def commission_new(request: StudioRequest) -> HttpResponse:
    """Take an enquiry down."""
    form = CommissionForm(request.POST or None, studio=request.studio)

    def act(data: dict[str, Any]) -> Commission:
        customer = _customer(request, data)
        wanted = {name: data[name] for name in ("title", "due_on", "notes")}
        return work.open_commission(
            studio=request.studio, by=request.user, customer=customer, **wanted
        )

    return form_page(
        request,
        form,
        title="New commission",
        act=act,
        done=lambda made: ("Now add what is wanted.", reverse("line-new", args=[made.number])),
        button="Go on",
        back=reverse("commissions"),
        back_label="Commissions",
    )


@member_page("maker")
def commission_edit(request: StudioRequest, number: int) -> HttpResponse:
    """Change who it is for, its title, its date and notes."""
    found = asked_row(request, number)
    names = ("customer", "title", "due_on", "notes")
    form = CommissionForm(
        request.POST or None,
        studio=request.studio,
        initial={name: getattr(found, name) for name in names},
    )

    def act(data: dict[str, Any]) -> Commission:
        customer = _customer(request, data)
        changes = {name: data[name] for name in names} | {"customer": customer}
        return work.change_commission(commission=found, by=request.user, **changes)

    return form_page(
        request,
        form,
        title=f"Change commission {found.number}",
        act=act,
        done=lambda kept: ("The commission is saved.", page_of(kept)),
        back=page_of(found),
    )


@member_page("maker")
def commission_step(request: StudioRequest, number: int) -> HttpResponse:
    """Take a step by hand: delivered, paid, declined, cancelled; its page says what follows."""
    found = asked_row(request, number)
    form = StepForm(request.POST or None, initial={"status": request.GET.get("status")})
    step = STEPS.get(form["status"].value())
    if step is None:
        return redirect(page_of(found))
    return form_page(
        request,
        form,
        title=f"{step.title}: {found.title}",
        lead=step.lead,
        act=lambda data: work.move_on(commission=found, by=request.user, **data),
        done=lambda kept: (f"{kept} is {kept.get_status_display().lower()}.", page_of(kept)),
        button=step.title,
        is_danger=step.is_danger,
        back=page_of(found),
        back_label=found,
    )
