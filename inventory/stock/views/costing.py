"""How stock is costed, and since when."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from inventory.stock.costing_changes import change_costing, withdraw_costing_change
from inventory.stock.forms.costing import CostingForm
from studio.access import member_page
from studio.dates import in_full as day
from studio.requests import StudioRequest
from studio.views.form_page import action, form_page


@member_page("owner")
def costing(request: StudioRequest) -> HttpResponse:
    """Show the costing method with its changes, and change it from a day on."""
    studio, page_url = request.studio, reverse("costing")
    changes = list(studio.costing_changes.select_related("by"))
    return form_page(
        request,
        CostingForm(request.POST or None, studio=studio),
        template="inventory/stock/costing.html",
        title="How stock is costed",
        act=lambda data: change_costing(studio=studio, by=request.user, **data),
        done=lambda change: (
            f"{change.get_method_display()} is used from {day(change.from_day)} on.",
            page_url,
        ),
        button="Change",
        method_now=studio.Costing(studio.costing_in_force),
        changes=changes,
        waiting=next((one for one in changes if one.is_waiting), None),
    )


@require_POST
@member_page("owner")
def costing_withdraw(request: StudioRequest, pk: int) -> HttpResponse:
    """Take back a change of method before its day."""
    change = get_object_or_404(request.studio.costing_changes, pk=pk)
    return action(
        request,
        lambda: withdraw_costing_change(change=change),
        lambda _: ("The change is withdrawn.", reverse("costing")),
        back=reverse("costing"),
    )
