"""Consignment: what stands at shops, and settling with them."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_safe

from pricing.models import ConsignedSet, Consignment
from pricing.models.cost import NOTHING
from pricing.readiness.asking import gone_on_of
from pricing.readiness.fitting import words_of_sets
from pricing.selling import consignment_papers as papers
from pricing.selling.consigning import (
    Settlement,
    ShopAccount,
    account,
    consignments_of,
    send_out,
    settle,
)
from pricing.selling.forms.consigning import SendForm, SettleForm
from studio.access import member_page
from studio.money import by_currency
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.sight import PRICES
from studio.views.form_page import form_page
from studio.views.lists import period_page

Outcome = ConsignedSet.Outcome


def _note(request: StudioRequest, number: int) -> Consignment:
    return get_object_or_404(consignments_of(request.studio), number=number)


def _account(request: StudioRequest, consignment: Consignment) -> tuple[ShopAccount, Decimal]:
    """Return a note's account, and what is still out of it at cost."""
    return account(consignment, request.studio.today()), _cost_out(consignment.lines.all())


def _cost_out(lines: Iterable[ConsignedSet]) -> Decimal:
    out = (one.piece_set.spent for one in lines if one.outcome == Outcome.OUT)
    return sum(out, NOTHING).total


@require_safe
@member_page("viewer", PRICES)
def consignments(request: StudioRequest) -> HttpResponse:
    """List the notes, newest first, with what is still out on each."""
    listed = period_page(request, consignments_of(request.studio), "sent_on")
    rows = [_account(request, one) for one in listed["page"].object_list]
    standing = ConsignedSet.objects.filter(consignment__studio=request.studio, outcome=Outcome.OUT)
    out = list(standing.select_related("consignment", "piece_set"))
    has_shops = request.studio.channels.filter(is_consignment=True, archived_at=None).exists()
    context = {
        **listed,
        "rows": rows,
        "has_shops": has_shops,
        "out": len(out),
        "asked": by_currency(
            ((one.consignment.currency, one.asked) for one in out), request.studio.locale
        ),
        "out_cost": _cost_out(out),
    }
    return render(request, "pricing/selling/consignments.html", context)


@require_safe
@member_page("viewer", PRICES)
def consignment(request: StudioRequest, number: int) -> HttpResponse:
    """Show one note: what is still out and what it is worth, and what became of the rest."""
    note = _note(request, number)
    shop_account, out_cost = _account(request, note)
    lines = list(note.lines.all())
    context = {
        "consignment": note,
        "gone_on": gone_on_of(note),
        "account": shop_account,
        "out_cost": out_cost,
        "out": [one for one in lines if one.outcome == Outcome.OUT],
        "settled": [one for one in lines if one.outcome != Outcome.OUT],
        "care": words_of_sets(one.piece_set for one in lines),
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
        names = ("channel", "sent_on", "due_back_on", "note", "reason")
        shared = {name: data[name] for name in names}
        return send_out(studio=request.studio, by=request.user, items=form.items(), **shared)

    return form_page(
        request,
        form,
        title="Send sets to a shop",
        lead="They stay yours until they sell. The shop is a channel that sells on consignment.",
        act=act,
        done=lambda note: (
            f"{note} is made out. Print it for the shop to sign.",
            reverse("consignment", args=[note.number]),
        ),
        button="Send them out",
        back=reverse("consignments"),
        back_label="Consignment",
    )


@member_page("maker")
def consignment_settle(request: StudioRequest, number: int) -> HttpResponse:
    """Settle with a shop: what sold, what came back, what is lost."""
    note = _note(request, number)
    here = reverse("consignment", args=[number])
    out = [one for one in note.lines.all() if one.outcome == Outcome.OUT]
    form = SettleForm(request.POST or None, studio=request.studio, lines=out)
    return form_page(
        request,
        form,
        template="pricing/selling/consignment_settle.html",
        title=f"Settle with {note.channel}",
        consignment=note,
        act=lambda data: settle(consignment=note, by=request.user, **form.settled()),
        done=lambda settlement: (_done_words(settlement), here),
        button="Settle",
        back=here,
        back_label=str(note),
    )


def _done_words(settlement: Settlement) -> str:
    words = [f"{settlement.sale} is recorded"] if settlement.sale else []
    words += [f"{settlement.returned} came back"] if settlement.returned else []
    words += [f"{settlement.lost} written off"] if settlement.lost else []
    return f"{', '.join(words)}."


@require_safe
@member_page("viewer", PRICES)
def consignment_note_pdf(request: StudioRequest, number: int) -> HttpResponse:
    """The note to sign, as a PDF."""
    note = _note(request, number)
    return pdf_response(papers.note_pdf(note), papers.file_name(note, "note"))


@require_safe
@member_page("viewer", PRICES)
def consignment_statement_pdf(request: StudioRequest, number: int) -> HttpResponse:
    """What the shop sold and passes on, as a PDF."""
    note = _note(request, number)
    statement = papers.statement_pdf(note, request.studio.today())
    return pdf_response(statement, papers.file_name(note, "statement"))


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
