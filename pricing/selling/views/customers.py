"""The page of a customer."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_safe

from pricing.selling.customers import History, bought_count, pictures_for, sums_of
from studio.access import member_page
from studio.requests import StudioRequest
from studio.sight import PRICES
from studio.views.lists import page_of


@require_safe
@member_page("viewer")
def customer(request: StudioRequest, pk: int) -> HttpResponse:
    """Show one customer: what was asked, quoted, bought and paid, the newest first."""
    row = get_object_or_404(request.studio.customers.select_related("studio"), pk=pk)
    context: dict[str, object] = {
        "customer": row,
        "page": page_of(request, History(row, request.membership)),  # type: ignore[arg-type]  # it is cut like one
        "bought": bought_count(row),
        "commission_count": row.commissions.count(),
        "pictures": pictures_for(row),
        "new_commission": f"{reverse('commission-new')}?customer={pk}",
    }
    if request.membership.sees(PRICES):
        context["sums"] = sums_of(row)
    return render(request, "pricing/selling/customer.html", context)


urlpatterns = [path("customers/<int:pk>/", customer, name="customer")]
