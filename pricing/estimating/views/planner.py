"""The quick planner: a size, a technique and a count become amounts, on one screen."""

from collections.abc import Callable, Iterable
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers
from django_htmx.http import HttpResponseClientRedirect

from pricing.estimating import coverage
from pricing.estimating.answers import PieceEstimate
from pricing.estimating.batches import for_pieces
from pricing.estimating.coverage import Estimator
from pricing.estimating.curves import curve
from pricing.estimating.fitting import doubts_on, finish_under
from pricing.estimating.forms.planner import PlannerForm
from pricing.estimating.layers import LayerEstimate, line_of
from pricing.estimating.learning import estimator_for
from pricing.estimating.narrowing import narrowing
from pricing.estimating.planning import plan_of, shelved, usual_palette
from pricing.estimating.reasons import Reason, reasons
from pricing.estimating.resins import kit_on_hand
from pricing.estimating.size_table import size_table, size_table_pdf
from pricing.estimating.sizes import sketch_of
from pricing.fitness import words_of
from pricing.models import SavedSurface
from pricing.techniques import TECHNIQUES
from studio.access import member_page
from studio.errors import StudioError
from studio.half_filled import BY_NAME
from studio.making import BUTTON, button, leave, offer_making
from studio.models import Studio
from studio.pdf import pdf_response
from studio.requests import StudioRequest

# A plan's address may leave these out.
USUAL = {"technique": TECHNIQUES[0].slug, "count": "1"}
FEW, MANY = 3, 12
SHORT = "answer"  # the part of the first page that holds the answer and no more


# What an app above adds to a plan for those who may see it, such as its price: what the form
# asked for and its estimate go in, the context of the page comes out.
extras: list[Callable[[StudioRequest, dict[str, Any], PieceEstimate], dict[str, object]]] = []


def form_in_address(request: StudioRequest) -> PlannerForm:
    """Return the planner's form, filled in from the address."""
    query = request.GET.copy()
    for name, value in USUAL.items():
        query.setdefault(name, value)
    return PlannerForm(query, studio=request.studio)


def first_form(request: StudioRequest) -> PlannerForm:
    """Return the planner's form before a size is given: nothing of it is wrong yet."""
    return PlannerForm(initial=USUAL | request.GET.dict(), studio=request.studio)


def _is_brief(request: HttpRequest) -> bool:
    """Tell whether the first page asks for its short answer."""
    return request.headers.get("HX-Target") == SHORT


def _template(request: HttpRequest) -> str:
    """Return what is shown: a part for htmx, but the page for one who goes back in history."""
    headers = request.headers
    if "HX-Request" not in headers or "HX-History-Restore-Request" in headers:
        return "pricing/estimating/planner.html"
    return f"pricing/estimating/{'_answer' if _is_brief(request) else '_plan'}.html"


@require_safe
@vary_on_headers("HX-Request", "HX-Target")
@member_page("viewer")
def planner(request: StudioRequest) -> HttpResponse:
    """Show how much paint a piece needs, by layer, mix and material, as the form is filled in."""
    if left := leave(request, "The plan"):
        return HttpResponseClientRedirect(left["Location"]) if request.htmx else left
    is_new = not request.GET.get("size", "").strip()
    form = first_form(request) if is_new else form_in_address(request)
    offer_making(request.membership, form)
    context: dict[str, object] = {"form": form, "is_new": is_new, "brief": _is_brief(request)}
    if form.is_valid():
        kept = form.kept(form.cleaned_data["size"])
        sketch = kept or sketch_of(request.studio, form.measured)
        data = form.cleaned_data | {"kept": kept, "surface": sketch}
        if data["palette"] is None:
            data["palette"] = context["usual_palette"] = usual_palette(request.studio)
        context |= _plan(request, data, form.surfaces)
        context |= _fitness(form, data)
        context["keep_size"] = _keep_size(request, form) if data["kept"] is None else ""
    return render(request, _template(request), context)


def _plan(
    request: StudioRequest, data: dict[str, Any], surfaces: Iterable[SavedSurface]
) -> dict[str, object]:
    try:
        piece = plan_of(request.studio, data)
        estimator = estimator_for(request.studio)
        layers = [_layer(request, estimator, piece, layer) for layer in piece.layers]
    except StudioError as error:
        return {"problem": str(error)}
    more = {name: value for add in extras for name, value in add(request, data, piece).items()}
    kit = data["topcoat"]
    line = line_of(piece.surface, piece.technique, piece.count, piece.base)
    return more | {
        "plan": piece,
        "materials": (materials := shelved(piece)),
        "short": [one for one in materials if one.is_short],
        "narrowing": narrowing(estimator, line, surfaces),
        "one_batch": for_pieces(piece),
        "layers": layers,
        "asked": data,
        "query": request.GET.urlencode(),
        "kit_left": kit_on_hand(kit) if kit else None,
    }


def _keep_size(request: StudioRequest, form: PlannerForm) -> str:
    """Return what the plan's address asks to keep its size by a name; empty for who may not."""
    size = str(form.data["size"]).strip()
    asked = button(request.membership, "savedsurface", "size", BY_NAME, name=size, size=size)
    return f"{request.GET.urlencode()}&{urlencode({BUTTON: asked.value})}" if asked else ""


def _fitness(form: PlannerForm, data: dict[str, Any]) -> dict[str, object]:
    """Return what is said of heat and food of what is planned, and why it is not fit for its use.

    Nobody is asked why all the same, since a plan keeps nothing.
    """
    use, kit = data["use"], data["topcoat"]
    return {
        "care": words_of(use, finish_under(kit)),
        "doubts": doubts_on(form.measured, use, kit),
    }


def _layer(
    request: StudioRequest, estimator: Estimator, piece: PieceEstimate, layer: LayerEstimate
) -> dict[str, object]:
    """Return a layer with what weighed most in it; a film of resin is worked out, not learnt."""
    if layer.layer not in coverage.LAYERS:
        return {"layer": layer}
    why = reasons(estimator, piece.surface, piece.technique, layer.layer, top=FEW)
    url = f"{reverse('plan-why', args=[layer.layer])}?{request.GET.urlencode()}"
    return {"layer": layer, "reasons": why, "url": url}


@require_safe
@member_page("viewer")
def plan_why(request: StudioRequest, layer: str) -> HttpResponse:
    """Show what an amount of the planner rests on: pours, facts, and the curve through them."""
    form = form_in_address(request)
    context = {"form": form, "query": request.GET.urlencode()}
    if form.is_valid():
        data = form.cleaned_data
        technique, surface = data["technique"].slug, data["size"]
        if layer not in coverage.LAYERS_OF[technique]:
            raise Http404
        piece = plan_of(request.studio, data)
        estimator = estimator_for(request.studio)
        why = reasons(estimator, surface, technique, layer, top=MANY)
        context |= {
            "asked": data,
            "layer": piece.layer(layer),
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
