"""The quick planner: a size, a technique and a count become amounts, on one screen."""

from django.shortcuts import render
from django.views.decorators.http import require_GET

from pricing.estimates import estimate
from pricing.forms.planner import PlannerForm
from pricing.sizes import surface_of
from studio.access import member_page
from studio.errors import StudioError


@require_GET
@member_page("viewer")
def planner(request):
    """Show how much paint a piece needs, by layer, mix and material, as the form is filled in."""
    asked = request.GET.copy()
    asked.setdefault("technique", "bloom")
    asked.setdefault("count", "1")
    form = PlannerForm(asked, studio=request.studio)
    context = {"form": form, "is_new": not (asked.get("size") or asked.get("surface"))}
    if form.is_valid():
        context |= _plan(request.studio, form.cleaned_data)
    part = request.headers.get("HX-Request")
    return render(request, "pricing/_plan.html" if part else "pricing/planner.html", context)


def _plan(studio, data):
    try:
        found = estimate(
            studio,
            data["surface"] or surface_of(data["size"]),
            data["technique"].slug,
            data["count"],
            palette=data["palette"],
            topcoat=data["topcoat"],
        )
    except StudioError as error:
        return {"problem": str(error)}
    return {"plan": found, "asked": data}
