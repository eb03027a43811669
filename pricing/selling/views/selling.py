"""Sets and sales."""

from collections.abc import Iterable
from typing import Any

from django.contrib import messages
from django.db.models import Prefetch, prefetch_related_objects
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from pricing.bench.courses import hazards_of_steps
from pricing.bench.views.pictures import pictures_of
from pricing.commissions.views.address import commission_in_address, line_in_address
from pricing.models import FinishedPiece, PieceSet, Sale, UseChange
from pricing.readiness.asking import gone_on_of
from pricing.readiness.fitting import words_of_sets
from pricing.readiness.standing import standing_of
from pricing.selling.agreed import hand_over
from pricing.selling.forms.selling import RefundForm, SaleForm, SetForm, UseForm
from pricing.selling.sales import pack_set, refund, sell, unpack_set
from pricing.selling.uses import change_use
from studio.access import member_page
from studio.forms import WhyForm
from studio.money import ZERO
from studio.requests import StudioRequest
from studio.sight import PRICES
from studio.views.form_page import form_page
from studio.views.lists import period_page


@require_safe
@member_page("viewer")
def sets(request: StudioRequest) -> HttpResponse:
    """List the sets and the loose pieces waiting to be packed."""
    rows = request.studio.sets.with_sold().filter(unpacked_at=None).prefetch_related("pieces")
    loose = FinishedPiece.objects.filter(studio=request.studio).to_pack()
    context = {**period_page(request, rows, "made_on"), "loose": loose.count()}
    return render(request, "pricing/selling/sets.html", context)


def _set(request: StudioRequest, number: int) -> PieceSet:
    return get_object_or_404(request.studio.sets.with_sold(), number=number)


@require_safe
@member_page("viewer")
def piece_set(request: StudioRequest, number: int) -> HttpResponse:
    """Show one set: its pieces, what it cost, its sales."""
    row = _set(request, number)
    of_pour = FinishedPiece.objects.select_related(
        "pour__surface", "pour__technique", "pour__palette"
    )
    prefetch_related_objects([row], Prefetch("pieces", of_pour))
    context = {
        "set": row,
        "pieces": row.pieces.all(),
        "care": words_of_sets([row]),
        "sale_lines": row.sale_lines.select_related("sale__channel", "sale__studio"),
        "gone_on": gone_on_of(row),
        "use_changes": UseChange.objects.filter(piece_set=row).select_related("by"),
        "standings": standing_of({piece.pour for piece in row.pieces.all()}),
        **pictures_of(row),
    }
    return render(request, "pricing/selling/set.html", context)


@member_page("maker")
def set_new(request: StudioRequest) -> HttpResponse:
    """Pack finished pieces into a set."""
    line = line_in_address(request)
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
            reason=data["reason"],
            used=form.used,
            use=data["use"] or None,
        )

    back = reverse("commission", args=[line.commission.number]) if line else reverse("sets")
    return form_page(
        request,
        form,
        title=f"Pack {line}" if line else "Pack a set",
        hazards=hazards_of_steps(form.steps.steps),
        act=act,
        done=lambda packed_set: (f"{packed_set} is packed.", back),
        button="Pack",
        back=back,
    )


@member_page("maker")
def set_unpack(request: StudioRequest, number: int) -> HttpResponse:
    """Take a set apart again."""
    packed_set = _set(request, number)
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Take set {packed_set.number} apart",
        lead="Its pieces are loose again and its packaging goes back on the shelf.",
        act=lambda data: unpack_set(piece_set=packed_set, by=request.user, why=data["why"]),
        done=lambda unpacked_set: (f"{unpacked_set} is taken apart.", reverse("sets")),
        button="Take apart",
        back=reverse("set", args=[number]),
    )


@member_page("maker")
def set_use(request: StudioRequest, number: int) -> HttpResponse:
    """Say what a packed set is for, where something else was said."""
    labelled = _set(request, number)
    here = reverse("set", args=[number])
    return form_page(
        request,
        UseForm(request.POST or None, initial={"use": labelled.use}),
        title=f"What set {number} is for",
        lead="Its card and every paper say it from now on. Print a new card where one is with it.",
        act=lambda data: change_use(piece_set=labelled, by=request.user, **data),
        done=lambda _: ("What it is for is changed. Print its card anew.", here),
        back=here,
        back_label=labelled.label,
    )


@require_safe
@member_page("viewer", PRICES)
def sales(request: StudioRequest) -> HttpResponse:
    """List the sales, newest first."""
    rows = request.studio.sales.select_related("channel", "customer").with_lines()
    context = period_page(request, rows, "booked_on")
    context["seconds"] = sets_with_seconds(context["page"].object_list)
    return render(request, "pricing/selling/sales.html", context)


def sets_with_seconds(sales: Iterable[Sale]) -> set[int]:
    """Return the keys of the sets in some sales of which a piece is a second, in one query."""
    keys = [line.piece_set_id for sale in sales for line in sale.lines.all()]
    pieces = FinishedPiece.objects.filter(piece_set__in=keys, verdict="second")
    return set(pieces.values_list("piece_set", flat=True))


def sale_or_404(request: StudioRequest, number: int) -> Sale:
    rows = request.studio.sales.select_related("channel", "customer", "commission")
    return get_object_or_404(rows, number=number)


@member_page("maker")
def sale_new(request: StudioRequest) -> HttpResponse:
    """Sell sets through a channel."""
    commission = commission_in_address(request)
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
            reason=data["reason"],
            **form.shipping(),
            **form.payment(),
        )

    return form_page(
        request,
        form,
        title=f"Sell {commission.title}" if commission else "Record a sale",
        act=act,
        done=lambda sale: (f"{sale} is recorded.", reverse("sale", args=[sale.number])),
        button="Record the sale",
        back=reverse("sales"),
    )


@member_page("maker")
def sale_refund(request: StudioRequest, number: int) -> HttpResponse:
    """Give the money of a sale back."""
    sale = sale_or_404(request, number)
    here = reverse("sale", args=[number])

    def act(data: dict[str, Any]) -> Sale:
        return refund(
            sale=sale,
            by=request.user,
            why=data["why"],
            fees_kept=data["fees_kept"] or ZERO,
            returned=data["returned"],
            refunded_on=data["refunded_on"],
        )

    return form_page(
        request,
        RefundForm(request.POST or None, studio=request.studio, sale=sale),
        title=f"Refund {sale}",
        act=act,
        done=lambda refunded_sale: (f"{refunded_sale} is refunded.", here),
        button="Refund",
        back=here,
    )
