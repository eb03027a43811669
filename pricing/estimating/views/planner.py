"""The quick planner: a size, a technique and a count become amounts, on one screen."""

from collections.abc import Iterable
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from pricing.estimating import coverage
from pricing.estimating.coverage import Estimator
from pricing.estimating.curves import curve
from pricing.estimating.estimates import PieceEstimate, estimate
from pricing.estimating.forms.planner import PlannerForm
from pricing.estimating.layers import LayerEstimate
from pricing.estimating.learning import estimator_for
from pricing.estimating.reasons import Reason, reasons
from pricing.estimating.resin import CAUTIONS
from pricing.estimating.size_table import size_table, size_table_pdf
from pricing.techniques import TECHNIQUES
from studio.access import member_page
from studio.errors import StudioError
from studio.models import Studio
from studio.pdf import pdf_response
from studio.requests import StudioRequest

# A plan's address may leave these out.
USUAL = {"technique": TECHNIQUES[0].slug, "count": "1"}
FEW, MANY = 3, 12


def asked_form(request: StudioRequest) -> PlannerForm:
    """Return the planner's form, filled in from the address."""
    asked = request.GET.copy()
    for name, value in USUAL.items():
        asked.setdefault(name, value)
    return PlannerForm(asked, studio=request.studio)


def _first_form(request: StudioRequest) -> PlannerForm:
    """Return the planner's form before a size is given: nothing of it is wrong yet."""
    return PlannerForm(initial=USUAL | request.GET.dict(), studio=request.studio)


def plan_of(studio: Studio, data: dict[str, Any]) -> PieceEstimate:
    """Return the estimate that a planner's form asks for."""
    return estimate(
        studio,
        data["size"],
        data["technique"].slug,
        data["count"],
        palette=data["palette"],
        topcoat=data["topcoat"],
    )


def wants_part(request: HttpRequest) -> bool:
    """Tell whether htmx asks for the amounts only; one going back in history wants the page."""
    return "HX-Request" in request.headers and "HX-History-Restore-Request" not in request.headers


@require_safe
@vary_on_headers("HX-Request")
@member_page("viewer")
def planner(request: StudioRequest) -> HttpResponse:
    """Show how much paint a piece needs, by layer, mix and material, as the form is filled in."""
    is_new = not request.GET.get("size", "").strip()
    form = _first_form(request) if is_new else asked_form(request)
    context = {"form": form, "is_new": is_new, "cautions": CAUTIONS}
    if form.is_valid():
        context |= _plan(request, form.cleaned_data)
    template = (
        "pricing/estimating/_plan.html"
        if wants_part(request)
        else "pricing/estimating/planner.html"
    )
    return render(request, template, context)


def _plan(request: StudioRequest, data: dict[str, Any]) -> dict[str, object]:
    try:
        found = plan_of(request.studio, data)
        estimator = estimator_for(request.studio)
        layers = [_layer(request, estimator, found, layer) for layer in found.layers]
    except StudioError as error:
        return {"problem": str(error)}
    return {"plan": found, "layers": layers, "asked": data, "query": request.GET.urlencode()}


def _layer(
    request: StudioRequest, estimator: Estimator, found: PieceEstimate, layer: LayerEstimate
) -> dict[str, object]:
    """Return a layer with what weighed most in it; a film of resin is worked out, not learnt."""
    if layer.layer not in coverage.LAYERS:
        return {"layer": layer}
    why = reasons(estimator, found.surface, found.technique, layer.layer, top=FEW)
    url = f"{reverse('plan-why', args=[layer.layer])}?{request.GET.urlencode()}"
    return {"layer": layer, "reasons": why, "url": url}


@require_safe
@member_page("viewer")
def plan_why(request: StudioRequest, layer: str) -> HttpResponse:
    """Show what an amount of the planner rests on: pours, facts, and the curve through them."""
    form = asked_form(request)
    context = {"form": form, "query": request.GET.urlencode()}
    if form.is_valid():
        data = form.cleaned_data
        technique, surface = data["technique"].slug, data["size"]
        if layer not in coverage.LAYERS_OF[technique]:
            raise Http404
        found = plan_of(request.studio, data)
        estimator = estimator_for(request.studio)
        why = reasons(estimator, surface, technique, layer, top=MANY)
        context |= {
            "asked": data,
            "layer": found.layer(layer),
            "reasons": why,
            "pours": _numbers(request.studio, why),
            "curve": curve(request.studio, estimator, technique, layer, surface.wetted_area_mm2),
        }
    return render(request, "pricing/estimating/why.html", context)


def _numbers(studio: Studio, why: Iterable[Reason]) -> dict[int, int]:
    """Return the number of each own pour by its id."""
    pours = studio.pours.filter(pk__in=[one.pour_id for one in why if one.is_own])
    return dict(pours.values_list("pk", "number"))


@require_safe
@member_page("viewer")
def sizes(request: StudioRequest) -> HttpResponse:
    """Show the table of amounts for the studio's sizes and techniques, to print."""
    return render(
        request, "pricing/estimating/size_table.html", {"pages": size_table(request.studio)}
    )


@require_safe
@member_page("viewer")
def sizes_pdf(request: StudioRequest) -> HttpResponse:
    """The table of amounts as a PDF to hang beside the bench."""
    return pdf_response(size_table_pdf(request.studio), "amounts-by-size.pdf")
