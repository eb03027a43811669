"""From a plan to a commission, and for an owner to its price, on one page."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from pricing.commissions.orders import LineChanges
from pricing.commissions.views.commissions import customer_of
from pricing.costing.planned_price import as_sold
from pricing.estimating.planning import usual_palette
from pricing.estimating.sizes import get_or_make_surface, sketch_of
from pricing.estimating.views.planner import form_in_address
from pricing.models import Commission, Quote, SavedSurface
from pricing.quoting.forms import PlannedForm
from pricing.quoting.from_plan import only_use, open_planned
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import form_page


@member_page("maker")
def commission_of_plan(request: StudioRequest) -> HttpResponse:
    """Take down who asks for what was planned; all of the plan is kept."""
    plan = form_in_address(request)
    planner = f"{reverse('planner')}?{request.GET.urlencode()}"
    if not plan.is_valid():
        return redirect(planner)
    asked, studio = plan.cleaned_data, request.studio
    kept = plan.kept(asked["size"])
    size = kept or sketch_of(studio, plan.measured)
    planned: LineChanges = {
        "technique": asked["technique"],
        "topcoat": asked["topcoat"],
        "quantity": asked["count"],
        "base": asked["base"],
    }
    palette = asked["palette"] or usual_palette(studio)
    form = PlannedForm(
        request.POST or None,
        studio=studio,
        initial={
            "title": f"{asked['count']} × {size}, {asked['technique']}",
            "palette": palette,
            "use": asked["use"] or only_use(size, asked["topcoat"]),
        },
    )

    def surface_of() -> SavedSurface:
        measured = kept or plan.measured
        if isinstance(measured, SavedSurface):
            return measured
        return get_or_make_surface(studio, measured)

    def act(data: dict[str, Any]) -> tuple[Commission, Quote | None]:
        return open_planned(
            studio=studio,
            by=request.user,
            customer=customer_of(request, data),
            pieces={
                **planned,
                "surface": surface_of(),
                "palette": data["palette"],
                "use": data["use"],
                "reason": data["reason"],
            },
            is_priced="price" in request.POST and request.membership.may("owner"),
            **{name: data[name] for name in ("title", "due_on", "notes")},
        )

    return form_page(
        request,
        form,
        title="Make it a commission",
        template="pricing/quoting/of_plan.html",
        act=act,
        done=lambda made: _done(*made),
        back=planner,
        back_label="The plan",
        asked=asked,
        size=size,
        sold=as_sold(studio, asked | {"kept": kept, "palette": palette}),
    )


def _done(commission: Commission, quote: Quote | None) -> tuple[str, str]:
    if quote is None:
        return "It is taken down.", reverse("commission", args=[commission.number])
    return "The price is worked out. Look it over, then send it.", reverse("quote", args=[quote.pk])
