"""What is promised to accepted work, and what each work still lacks."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.stock.promised import promised_works
from inventory.stock.promised_then import promised_on
from pricing.commissions.commission_holds import commissions_by_work
from studio.access import member_page
from studio.period_rows import past_day_of
from studio.requests import StudioRequest


@require_safe
@member_page("viewer")
def promised_page(request: StudioRequest) -> HttpResponse:
    """Show every accepted commission not poured yet: what is held for it and what it lacks.

    Of a past day, what it was at its end.
    """
    day = past_day_of(request)
    works = promised_on(request.studio, day) if day else promised_works(request.studio)
    commissions = commissions_by_work(request.studio, [work.work_id for work in works])
    context = {
        "works": [(work, commissions.get(work.work_id)) for work in works],
        "day": day,
    }
    return render(request, "pricing/commissions/promised.html", context)
