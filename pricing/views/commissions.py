"""Commissions: from an enquiry to a price, with what it takes and what is short."""

from dataclasses import dataclass

from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from pricing import commissions as work
from pricing.catalogue import add_customer
from pricing.estimates import estimate_commission
from pricing.forms.commissions import CommissionForm, StepForm
from pricing.models import Commission
from pricing.owing import account
from pricing.promising import PROMISABLE
from pricing.resin import CAUTIONS
from pricing.views.pictures import pictures_of
from pricing.what_if import earliest_promise
from studio.access import member_page
from studio.errors import StudioError
from studio.views.form_page import form_page

# While these last there is something to mix, buy and pour.
OPEN = ("enquiry", "quoted")
TO_DO = (*OPEN, "accepted", "in_work")
UNDER_WAY = ("accepted", "in_work", "ready")


def asked_row(request, number):
    """Return a commission of the studio, or 404."""
    rows = request.studio.commissions.select_related("customer", "studio")
    return get_object_or_404(rows, number=number)


def page_of(commission):
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
def commissions(request):
    """List the commissions, newest first."""
    status = request.GET.get("status", "")
    rows = request.studio.commissions.select_related("customer")
    if status in Commission.Status.values:
        rows = rows.filter(status=status)
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    context = {"page": page, "status": status, "statuses": Commission.Status.choices}
    return render(request, "pricing/commissions.html", context)


@require_safe
@member_page("viewer")
def commission(request, number):
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
    return render(request, "pricing/commission.html", context)


def _money(found):
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


def _what_it_takes(found):
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


def _when(found):
    """Return when it can honestly be ready, or why that cannot be said."""
    try:
        return {"work": earliest_promise(found)}
    except StudioError as error:
        return {"not_planned": str(error)}


def _lines(found):
    chosen = ("surface", "technique", "palette", "topcoat", "packaging")
    packed = Q(sets__unpacked_at=None, sets__written_off_at=None)
    return found.lines.select_related(*chosen).annotate(packed=Count("sets", filter=packed))


def _steps(found):
    """Return the words of the way from enquiry to paid, and how far this one has come."""
    way = ("enquiry", "quoted", "accepted", "in_work", "ready", "delivered", "paid")
    if found.status not in way:
        return []
    reached = way.index(found.status)
    states = ["done"] * reached + ["now"] + ["next"] * (len(way) - reached - 1)
    return [(Commission.Status(step).label, state) for step, state in zip(way, states, strict=True)]


def _customer(request, data):
    return data["customer"] or add_customer(
        studio=request.studio, name=data["new_customer"], email=data["new_email"]
    )


@member_page("maker")
def commission_new(request):
    """Take an enquiry down."""
    form = CommissionForm(request.POST or None, studio=request.studio)

    def act(data):
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
def commission_edit(request, number):
    """Change who it is for, its title, its date and notes."""
    found = asked_row(request, number)
    names = ("customer", "title", "due_on", "notes")
    form = CommissionForm(
        request.POST or None,
        studio=request.studio,
        initial={name: getattr(found, name) for name in names},
    )

    def act(data):
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
def commission_step(request, number):
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
