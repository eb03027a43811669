"""Consignment: what stands at shops, and settling with them."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_safe

from pricing.costing.piece_costs import NOTHING, Spent, cost_book
from pricing.models import ConsignedSet, Consignment
from pricing.selling import consignment_papers as papers
from pricing.selling.consigning import Account, Settled, account, consignments_of, send_out, settle
from pricing.selling.forms.consigning import SendForm, SettleForm
from studio.access import member_page
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.views.form_page import form_page

Outcome = ConsignedSet.Outcome


def _found(request: StudioRequest, number: int) -> Consignment:
    return get_object_or_404(consignments_of(request.studio), number=number)


def _shown(
    request: StudioRequest, consignment: Consignment, costs: Mapping[int, Spent]
) -> tuple[Account, Decimal]:
    """Return a note's account, and what is still out of it at cost."""
    out = [one for one in consignment.lines.all() if one.outcome == Outcome.OUT]
    cost = sum((costs.get(one.piece_set_id, NOTHING) for one in out), NOTHING).total
    return account(consignment, request.studio.today()), cost


@require_safe
@member_page("viewer")
def consignments(request: StudioRequest) -> HttpResponse:
    """List the notes, newest first, with what is still out on each."""
    page = Paginator(consignments_of(request.studio), 50).get_page(request.GET.get("page"))
    costs = cost_book(request.studio).by_set
    rows = [_shown(request, one, costs) for one in page.object_list]
    out = list(ConsignedSet.objects.filter(consignment__studio=request.studio, outcome=Outcome.OUT))
    has_shops = request.studio.channels.filter(is_consignment=True, archived_at=None).exists()
    context = {
        "page": page,
        "rows": rows,
        "has_shops": has_shops,
        "out": len(out),
        "out_asked": sum(one.asked for one in out),
        "out_cost": sum((costs.get(one.piece_set_id, NOTHING) for one in out), NOTHING).total,
    }
    return render(request, "pricing/selling/consignments.html", context)


@require_safe
@member_page("viewer")
def consignment(request: StudioRequest, number: int) -> HttpResponse:
    """Show one note: what is still out and what it is worth, and what became of the rest."""
    found = _found(request, number)
    costs = cost_book(request.studio).by_set
    shown, out_cost = _shown(request, found, costs)
    lines = list(found.lines.all())
    for line in lines:
        vars(line).update(cost=costs.get(line.piece_set_id))
    context = {
        "consignment": found,
        "account": shown,
        "out_cost": out_cost,
        "out": [one for one in lines if one.outcome == Outcome.OUT],
        "settled": [one for one in lines if one.outcome != Outcome.OUT],
    }
    return render(request, "pricing/selling/consignment.html", context)


@member_page("maker")
def consignment_new(request: StudioRequest) -> HttpResponse:
    """Send sets to a shop."""
    ready = list(request.studio.sets.for_sale())
    if not ready:
        messages.info(request, "Nothing is packed to send. Pack a set first.")
        return redirect("sets")
    form = SendForm(request.POST or None, studio=request.studio, sets=ready)

    def act(data: dict[str, Any]) -> Consignment:
        names = ("channel", "sent_on", "due_back_on", "note")
        shared = {name: data[name] for name in names}
        return send_out(studio=request.studio, by=request.user, items=form.items(), **shared)

    return form_page(
        request,
        form,
        title="Send sets to a shop",
        lead="They stay yours until they sell. The shop is a channel that sells on consignment.",
        act=act,
        done=lambda made: (
            f"{made} is made out. Print it for the shop to sign.",
            reverse("consignment", args=[made.number]),
        ),
        button="Send them out",
        back=reverse("consignments"),
        back_label="Consignment",
    )


@member_page("maker")
def consignment_settle(request: StudioRequest, number: int) -> HttpResponse:
    """Settle with a shop: what sold, what came back, what is lost."""
    found = _found(request, number)
    here = reverse("consignment", args=[number])
    out = [one for one in found.lines.all() if one.outcome == Outcome.OUT]
    form = SettleForm(request.POST or None, studio=request.studio, lines=out)
    return form_page(
        request,
        form,
        template="pricing/selling/consignment_settle.html",
        title=f"Settle with {found.channel}",
        consignment=found,
        act=lambda data: settle(consignment=found, by=request.user, **form.settled()),
        done=lambda made: (_done_words(made), here),
        button="Settle",
        back=here,
        back_label=str(found),
    )


def _done_words(made: Settled) -> str:
    words = [f"{made.sale} is recorded"] if made.sale else []
    words += [f"{made.returned} came back"] if made.returned else []
    words += [f"{made.lost} written off"] if made.lost else []
    return f"{', '.join(words)}."


@require_safe
@member_page("viewer")
def consignment_note_pdf(request: StudioRequest, number: int) -> HttpResponse:
    """The note to sign, as a PDF."""
    found = _found(request, number)
    return pdf_response(papers.note_pdf(found), papers.file_name(found, "note"))


@require_safe
@member_page("viewer")
def consignment_statement_pdf(request: StudioRequest, number: int) -> HttpResponse:
    """What the shop sold and passes on, as a PDF."""
    found = _found(request, number)
    made = papers.statement_pdf(found, request.studio.today())
    return pdf_response(made, papers.file_name(found, "statement"))


urlpatterns = [
    path("consignments/", consignments, name="consignments"),
    path("consignments/new/", consignment_new, name="consignment-new"),
    path("consignments/<int:number>/", consignment, name="consignment"),
    path("consignments/<int:number>/settle/", consignment_settle, name="consignment-settle"),
    path("consignments/<int:number>/note.pdf", consignment_note_pdf, name="consignment-note-pdf"),
    path(
        "consignments/<int:number>/statement.pdf",
        consignment_statement_pdf,
        name="consignment-statement-pdf",
    ),
]
