"""Commissions: from an enquiry to a price, with what it takes and what is short."""

from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from pricing import commissions as work
from pricing.catalogue import add_customer
from pricing.estimates import estimate_commission
from pricing.forms.commissions import CommissionForm, LineForm, StepForm, line_initial
from pricing.models import Commission, CommissionLine
from studio.access import member_page
from studio.errors import StudioError
from studio.views.form_page import action, form_page


def _commission(request, number):
    rows = request.studio.commissions.select_related("customer", "studio")
    return get_object_or_404(rows, number=number)


def _page(commission):
    return reverse("commission", args=[commission.number])


@require_GET
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


@require_GET
@member_page("viewer")
def commission(request, number):
    """Show one commission: its pieces, the paint they take, what is short, its quotes."""
    found = _commission(request, number)
    context = {
        "commission": found,
        "lines": _lines(found),
        "quotes": found.quotes.all(),
        "events": found.events.select_related("by"),
        "steps": _steps(found),
        "by_hand": [
            (status, Commission.Status(status).label) for status in work.BY_HAND[found.status]
        ],
        "is_open": found.status in ("enquiry", "quoted"),
    }
    if context["lines"]:
        try:
            estimate = estimate_commission(found)
            context |= {"estimate": estimate, "check": work.stock_check(found)}
        except StudioError as error:
            context["problem"] = str(error)
    return render(request, "pricing/commission.html", context)


def _lines(found):
    return found.lines.select_related("surface", "technique", "palette", "topcoat", "packaging")


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
    found = _commission(request, number)
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
        done=lambda kept: ("The commission is saved.", _page(kept)),
        back=_page(found),
    )


@member_page("maker")
def line_new(request, number):
    """Add pieces or sets to a commission."""
    found = _commission(request, number)
    form = LineForm(request.POST or None, studio=request.studio)
    return form_page(
        request,
        form,
        title="Add pieces",
        template="pricing/line_form.html",
        act=lambda _: work.add_line(commission=found, by=request.user, **form.line()),
        done=lambda made: (f"{made} is added.", _page(found)),
        button="Add",
        back=_page(found),
    )


def _line(request, number, pk):
    rows = CommissionLine.objects.filter(
        commission__studio=request.studio, commission__number=number
    )
    return get_object_or_404(rows.select_related("commission__studio"), pk=pk)


@member_page("maker")
def line_edit(request, number, pk):
    """Change a line; a quote that is out is superseded."""
    line = _line(request, number, pk)
    form = LineForm(request.POST or None, studio=request.studio, initial=line_initial(line))
    return form_page(
        request,
        form,
        title="Change pieces",
        template="pricing/line_form.html",
        act=lambda _: work.change_line(line=line, by=request.user, **form.line()),
        done=lambda kept: (f"{kept} is saved.", _page(line.commission)),
        back=_page(line.commission),
        line=line,
    )


@require_POST
@member_page("maker")
def line_remove(request, number, pk):
    """Take a line out of a commission."""
    line = _line(request, number, pk)
    here = _page(line.commission)
    return action(
        request,
        lambda: work.remove_line(line=line, by=request.user),
        lambda _: ("The line is taken out.", here),
        back=here,
    )


@require_POST
@member_page("maker")
def commission_step(request, number):
    """Take a step by hand: delivered, paid, declined, cancelled."""
    found = _commission(request, number)
    form = StepForm(request.POST)
    if not form.is_valid():
        return redirect(_page(found))
    return action(
        request,
        lambda: work.move_on(commission=found, by=request.user, **form.cleaned_data),
        lambda kept: (f"{kept} is {kept.get_status_display().lower()}.", _page(kept)),
        back=_page(found),
    )
