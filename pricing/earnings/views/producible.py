"""What can be made from what is on hand, and the mix of it that earns most."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from pricing.costing.asking import usual_channel
from pricing.earnings.forms.producible import ProducibleForm
from pricing.earnings.producible import USUAL_HOURS, producible
from studio.access import member_page
from studio.errors import StudioError
from studio.requests import StudioRequest


@require_safe
@member_page("viewer")
def what_can_i_make(request: StudioRequest) -> HttpResponse:
    """Show how many of each product can be made now, what limits it, and the best mix."""
    query = request.GET.copy()
    query.setdefault("hours", f"{USUAL_HOURS}")
    usual = usual_channel(request.studio)
    query.setdefault("channel", str(usual.pk) if usual else "")
    form = ProducibleForm(query, studio=request.studio)
    context: dict[str, object] = {"form": form}
    if form.is_valid():
        try:
            context["found"] = producible(request.studio, **form.arguments())
        except StudioError as error:
            context["problem"] = str(error)
    return render(request, "pricing/earnings/producible.html", context)
