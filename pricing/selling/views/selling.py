"""Sets and sales."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from pricing.bench.views.pictures import pictures_of
from pricing.commissions.views.asked import asked_commission, asked_line
from pricing.costing.piece_costs import cost_book
from pricing.models import FinishedPiece, PieceSet, Sale
from pricing.selling.agreed import hand_over
from pricing.selling.forms.selling import RefundForm, SaleForm, SetForm
from pricing.selling.sales import pack_set, refund, sell, unpack_set
from studio.access import member_page
from studio.forms import WhyForm
from studio.money import ZERO
from studio.requests import StudioRequest
from studio.views.form_page import form_page


@require_safe
@member_page("viewer")
def sets(request: StudioRequest) -> HttpResponse:
    """List the sets and the loose pieces waiting to be packed."""
    rows = request.studio.sets.with_sold().filter(unpacked_at=None).prefetch_related("pieces")
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    costs = cost_book(request.studio).by_set
    for one in page.object_list:
        vars(one).update(spent=costs.get(one.pk))
    loose = FinishedPiece.objects.filter(studio=request.studio, state="good", piece_set=None)
    context = {"page": page, "loose": loose.count()}
    return render(request, "pricing/selling/sets.html", context)


def _set(request: StudioRequest, number: int) -> PieceSet:
    return get_object_or_404(request.studio.sets.with_sold(), number=number)


@require_safe
@member_page("viewer")
def piece_set(request: StudioRequest, number: int) -> HttpResponse:
    """Show one set: its pieces, what it cost, its sales."""
    found = _set(request, number)
    context = {
        "set": found,
        "pieces": found.pieces.select_related("pour__surface", "pour__technique", "pour__palette"),
        "spent": cost_book(request.studio).by_set.get(found.pk),
        "sale_lines": found.sale_lines.select_related("sale__channel"),
        **pictures_of(found),
    }
    return render(request, "pricing/selling/set.html", context)


@member_page("maker")
def set_new(request: StudioRequest) -> HttpResponse:
    """Pack finished pieces into a set."""
    line = asked_line(request)
    form = SetForm(request.POST or None, studio=request.studio, line=line)

    def act(data: dict[str, Any]) -> PieceSet:
        return pack_set(
            studio=request.studio,
            by=request.user,
            name=data.get("name", ""),
            pieces=list(data["pieces"]),
            line=line,
            packaging=data.get("packaging"),
            also=list(data["also"]),
            minutes=data["minutes"],
            made_on=data["made_on"],
        )

    back = reverse("commission", args=[line.commission.number]) if line else reverse("sets")
    return form_page(
        request,
        form,
        title=f"Pack {line}" if line else "Pack a set",
        act=act,
        done=lambda made: (f"{made} is packed.", back),
        button="Pack",
        back=back,
    )


@member_page("maker")
def set_unpack(request: StudioRequest, number: int) -> HttpResponse:
    """Take a set apart again."""
    found = _set(request, number)
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Take set {found.number} apart",
        lead="Its pieces are loose again and its packaging goes back on the shelf.",
        act=lambda data: unpack_set(piece_set=found, by=request.user, why=data["why"]),
        done=lambda kept: (f"{kept} is taken apart.", reverse("sets")),
        button="Take apart",
        back=reverse("set", args=[number]),
    )


@require_safe
@member_page("viewer")
def sales(request: StudioRequest) -> HttpResponse:
    """List the sales, newest first."""
    rows = request.studio.sales.select_related("channel", "customer").with_lines()
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    return render(request, "pricing/selling/sales.html", {"page": page})


def asked_sale(request: StudioRequest, number: int) -> Sale:
    rows = request.studio.sales.select_related("channel", "customer", "commission")
    return get_object_or_404(rows, number=number)


@member_page("maker")
def sale_new(request: StudioRequest) -> HttpResponse:
    """Sell sets through a channel."""
    commission = asked_commission(request)
    agreed = hand_over(commission) if commission else None
    ready = [one for one, _ in agreed.items] if agreed else []
    ready = ready or list(request.studio.sets.for_sale())
    if not ready:
        messages.info(request, "Nothing is packed to sell. Pack a set first.")
        return redirect("sets")
    form = SaleForm(
        request.POST or None,
        studio=request.studio,
        sets=ready,
        agreed=agreed,
        commission=commission,
    )

    def act(data: dict[str, Any]) -> Sale:
        return sell(
            studio=request.studio,
            by=request.user,
            channel=data["channel"],
            sold_on=data["sold_on"],
            items=form.items(),
            customer=data.get("customer"),
            commission=commission,
            **form.shipping(),
            **form.payment(),
        )

    return form_page(
        request,
        form,
        title=f"Sell {commission.title}" if commission else "Record a sale",
        act=act,
        done=lambda made: (f"{made} is recorded.", reverse("sale", args=[made.number])),
        button="Record the sale",
        back=reverse("sales"),
    )


@member_page("maker")
def sale_refund(request: StudioRequest, number: int) -> HttpResponse:
    """Give the money of a sale back."""
    found = asked_sale(request, number)
    here = reverse("sale", args=[number])

    def act(data: dict[str, Any]) -> Sale:
        return refund(
            sale=found,
            by=request.user,
            why=data["why"],
            fees_kept=data["fees_kept"] or ZERO,
            returned=data["returned"],
        )

    return form_page(
        request,
        RefundForm(request.POST or None, studio=request.studio),
        title=f"Refund {found}",
        act=act,
        done=lambda kept: (f"{kept} is refunded.", here),
        button="Refund",
        back=here,
    )
