"""Mixing sheets, for a plan or for a day's commissions."""

from collections.abc import Callable
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from pricing.bench.mixing_sheets import (
    Cup,
    MixingSheet,
    PiecesToMix,
    commission_sheet,
    plan_sheet,
    sheet_pdf,
)
from pricing.commissions.views.address import (
    number_in,
    numbers_in_address,
    palette_in_address,
)
from pricing.estimating.planning import plan_of
from pricing.estimating.views.planner import form_in_address
from pricing.models import Commission
from studio.access import member_page
from studio.errors import StudioError
from studio.pdf import pdf_response
from studio.requests import StudioRequest

# Work that may be on the bench; an enquiry can be mixed for once it is accepted.
AT_THE_BENCH = ("accepted", "in_work")


def _commissions(request: StudioRequest) -> list[Commission]:
    """Return the commissions named in the address; one the studio lacks is a 404."""
    numbers = numbers_in_address(request, "commission")
    commissions = list(request.studio.commissions.filter(number__in=numbers).order_by("number"))
    if len(commissions) < len(numbers):
        raise Http404
    return commissions


@require_safe
@member_page("viewer")
def mixing(request: StudioRequest) -> HttpResponse:
    """Show what to mix for the commissions chosen, all of them together."""
    chosen = _commissions(request)
    offered = request.studio.commissions.filter(status__in=AT_THE_BENCH).select_related("customer")
    palette = palette_in_address(request)
    context: dict[str, object] = {
        "chosen": chosen,
        "offered": offered.order_by("due_on", "number"),
        "palette": palette,
    }
    if chosen:
        for_one = chosen[0] if len(chosen) == 1 else None
        context |= _sheet(
            request, lambda: commission_sheet(request.studio, chosen, palette), for_one
        )
        context["pdf_url"] = f"{reverse('mixing-pdf')}?{request.GET.urlencode()}"
    return render(request, "pricing/bench/mixing.html", context)


@require_safe
@member_page("viewer")
def mixing_pdf(request: StudioRequest) -> HttpResponse:
    """The mixing sheet of the commissions chosen, as a PDF."""
    chosen = _commissions(request)
    if not chosen:
        raise Http404
    names = ", ".join(str(one.number) for one in chosen)
    title = f"Mixing sheet, commission{'' if len(chosen) == 1 else 's'} {names}"
    palette = palette_in_address(request)
    title += f", {palette}" if palette else ""
    sheet = commission_sheet(request.studio, chosen, palette)
    return pdf_response(
        sheet_pdf(request.studio, sheet, title, request.studio.today()), "mixing-sheet.pdf"
    )


@require_safe
@member_page("viewer")
def plan_mixing(request: StudioRequest) -> HttpResponse:
    """Show what to mix for a plan."""
    form = form_in_address(request)
    query = request.GET.urlencode()
    context: dict[str, object] = {"form": form, "plan_url": f"{reverse('planner')}?{query}"}
    if form.is_valid():
        context |= _sheet(request, lambda: _plan_sheet(request, form.cleaned_data))
        context["pdf_url"] = f"{reverse('plan-mixing-pdf')}?{query}"
    return render(request, "pricing/bench/plan_mixing.html", context)


@require_safe
@member_page("viewer")
def plan_mixing_pdf(request: StudioRequest) -> HttpResponse:
    """The mixing sheet of a plan, as a PDF."""
    form = form_in_address(request)
    if not form.is_valid():
        raise Http404
    sheet = _plan_sheet(request, form.cleaned_data)
    return pdf_response(
        sheet_pdf(request.studio, sheet, "Mixing sheet", request.studio.today()),
        "mixing-sheet.pdf",
    )


def _plan_sheet(request: StudioRequest, data: dict[str, Any]) -> MixingSheet:
    label = f"{data['count']} × {request.GET['size'].strip()}, {data['technique'].name.lower()}"
    like = number_in(request.GET.get("again", "")) or None
    return plan_sheet(request.studio, plan_of(request.studio, data), label, data["palette"], like)


def _sheet(
    request: StudioRequest, make: Callable[[], MixingSheet], commission: Commission | None = None
) -> dict[str, object]:
    """Return the sheet, its cups with where each is mixed, and where its pours are logged; or in
    words why there is none.
    """
    try:
        sheet = make()
    except StudioError as error:
        return {"problem": str(error)}
    cups = [(cup, _batch_url(request, cup, commission)) for cup in sheet.cups]
    pours = [(work, _pour_url(request, work)) for work in sheet.works if work.palette]
    return {
        "sheet": sheet,
        "cups": cups,
        "to_mix": any(cup.volume_ml for cup in sheet.cups),
        "pours": pours,
        "hazards": sheet.hazards,
    }


def _batch_url(request: StudioRequest, cup: Cup, commission: Commission | None) -> str:
    fields: dict[str, str | int] = {
        "recipe": cup.recipe.pk,
        "volume": f"{cup.volume_ml:f} mL",
        "purpose": cup.labels[0],
    }
    if commission is not None and commission.status in AT_THE_BENCH:
        fields["commission"] = commission.number
    fields["sheet"] = request.get_full_path()
    return f"{reverse('batch-new')}?{urlencode(fields)}"


def _pour_url(request: StudioRequest, work: PiecesToMix) -> str:
    """Return the form of a sheet's pour; it fills in what is mixed when it is opened."""
    if work.line is None:
        return f"{reverse('pour-new')}?{request.GET.urlencode()}"
    return f"{reverse('pour-new')}?{urlencode({'line': work.line.pk})}"
