"""What is promised to accepted work, and what each work still lacks."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.stock.promised import promised
from pricing.commissions.promises import by_work
from studio.access import member_page
from studio.requests import StudioRequest


@require_safe
@member_page("viewer")
def promised_page(request: StudioRequest) -> HttpResponse:
    """Show every accepted commission not poured yet: what is held for it and what it lacks."""
    works = promised(request.studio)
    commissions = by_work(request.studio, [work.work_id for work in works])
    context = {"works": [(work, commissions.get(work.work_id)) for work in works]}
    return render(request, "pricing/commissions/promised.html", context)
