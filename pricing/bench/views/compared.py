"""Pages of what made the good ones good."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.views.decorators.http import require_safe

from pricing.bench.compared import compared, groups_of
from pricing.commissions.views.address import number_in
from studio.access import member_page
from studio.requests import StudioRequest


@require_safe
@member_page("viewer")
def good_ones(request: StudioRequest) -> HttpResponse:
    """List what can be compared: pours of one technique, palette and size."""
    asked = {name: number_in(request.GET.get(name, "")) for name in ("palette", "technique")}
    only = {name: key for name, key in asked.items() if key}
    context = {"groups": groups_of(request.studio, **only), "is_narrowed": bool(only)}
    return render(request, "pricing/bench/good_ones.html", context)


@require_safe
@member_page("viewer")
def pour_compared(request: StudioRequest, number: int) -> HttpResponse:
    """Show the pours like one: best beside worst, counts, and what is estimated."""
    rows = request.studio.pours.select_related("technique", "palette", "surface", "studio")
    pour = get_object_or_404(rows, number=number)
    return render(request, "pricing/bench/compared.html", {"pour": pour, "known": compared(pour)})


urlpatterns = [
    path("good-ones/", good_ones, name="good-ones"),
    path("pours/<int:number>/compared/", pour_compared, name="pour-compared"),
]
