"""The part of a pour's page that tells what its pieces weighed, and weighing one."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from pricing.bench.forms.weighing import WeighForm
from pricing.bench.weighing import remove_weighing, weigh_piece
from pricing.models import Pour, Weighing
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import action, form_page


def weighings_of(pour: Pour) -> list[Weighing]:
    """Return what the pieces of a pour weighed, earliest first."""
    rows = Weighing.objects.filter(piece__pour=pour).select_related("piece__pour")
    return list(rows.order_by("weighed_at", "pk"))


@member_page("maker")
def pour_weigh(request: StudioRequest, number: int) -> HttpResponse:
    """Write down what a piece of a pour weighs."""
    pour = get_object_or_404(request.studio.pours, number=number)
    here = reverse("pour", args=[number])
    return form_page(
        request,
        WeighForm(request.POST if request.method == "POST" else None, pour=pour),
        title=f"Weigh a piece of {pour}",
        lead="Paint is dry when a piece weighs the same after 48 hours, within 1 % of its paint.",
        act=lambda data: weigh_piece(pour=pour, by=request.user, **data),
        done=lambda kept: (f"{kept} is written down.", here),
        button="Keep it",
        back=here,
        back_label=str(pour),
    )


@require_POST
@member_page("maker")
def weighing_remove(request: StudioRequest, number: int, pk: int) -> HttpResponse:
    """Take back a weight that was read or typed wrong."""
    rows = request.studio.weighings.filter(piece__pour__number=number)
    weighing = get_object_or_404(rows, pk=pk)
    return action(
        request,
        lambda: remove_weighing(weighing=weighing),
        lambda _: ("The weight is taken back.", reverse("pour", args=[number])),
        back=reverse("pour", args=[number]),
    )


urlpatterns = [
    path("pours/<int:number>/weigh/", pour_weigh, name="pour-weigh"),
    path("pours/<int:number>/weighings/<int:pk>/remove/", weighing_remove, name="weighing-remove"),
]
