"""The ledger: what moved stock, and how to undo it."""

from typing import Any

from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from inventory.models import Entry
from inventory.stock import ledger as stock
from inventory.stock.forms.bottles import UndoForm
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import form_page
from studio.views.lists import list_page, period_page, words_of


@require_safe
@member_page("viewer")
def entries(request: StudioRequest) -> HttpResponse:
    """List the ledger, newest first, found by what it was for and what it moved."""
    words = words_of(request)
    rows = request.studio.entries.select_related("by", "reversed_by", "reverses")
    rows = rows.with_movements()
    if words:
        moved = request.studio.movements.filter(
            Q(material__name__icontains=words) | Q(bottle__code__iexact=words)
        )
        rows = rows.filter(
            Q(purpose__icontains=words)
            | Q(why__icontains=words)
            | Q(pk__in=moved.order_by().values("entry"))
        )
    context = {**period_page(request, rows, "booked_on"), "words": words}
    return list_page(
        request, "inventory/stock/entries.html", "inventory/stock/_entry_rows.html", context
    )


@require_safe
@member_page("viewer")
def entry(request: StudioRequest, pk: int) -> HttpResponse:
    """Show one entry of the ledger and all it moved."""
    rows = request.studio.entries.select_related("by", "reversed_by", "reverses")
    entry = get_object_or_404(rows, pk=pk)
    moves = entry.movements.select_related("material", "bottle")
    return render(request, "inventory/stock/entry.html", {"entry": entry, "movements": moves})


@member_page("maker")
def reverse_entry(request: StudioRequest, pk: int) -> HttpResponse:
    """Undo an entry by its mirror image."""
    entry = get_object_or_404(request.studio.entries, pk=pk)

    def act(data: dict[str, Any]) -> Entry:
        return stock.reverse(studio=request.studio, by=request.user, entry=entry, why=data["why"])

    return form_page(
        request,
        UndoForm(request.POST or None),
        title=f"Undo “{entry}”",
        lead="The entry stays on record; a second one puts everything back.",
        act=act,
        done=lambda reversal: (
            "Undone. Both entries stay on record.",
            reverse("entry", args=[reversal.pk]),
        ),
        button="Undo",
        back=reverse("entry", args=[pk]),
        back_label=str(entry),
    )
