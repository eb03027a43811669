"""Today: what stops work, what is to be poured, and what the week earned."""

from collections.abc import Iterable
from datetime import date, timedelta

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.buying.alerts import alerts, work_alerts
from pricing.earnings.profit import set_profit, total
from pricing.models import Commission, Quote
from studio.access import member_page
from studio.models import Studio
from studio.requests import StudioRequest

# For how long a customer's own answer stands on the page.
NEWS = timedelta(days=7)
OPEN = ("enquiry", "quoted", "accepted", "in_work", "ready", "delivered")


@require_safe
@member_page("viewer")
def home(request: StudioRequest) -> HttpResponse:
    """Show the day: alerts, open commissions by date, the latest pours, the last thirty days."""
    studio = request.studio
    today = studio.today()
    commissions = studio.commissions.filter(status__in=OPEN).select_related("customer")
    sold = [row for row in set_profit(studio) if row.sold_on > today - timedelta(days=30)]
    warned = alerts(studio, with_money=request.membership.may("owner"))
    late = work_alerts(studio)
    context = {
        "today": today,
        "work_alerts": late[:6],
        "alerts": warned[:6],
        "alert_count": len(late) + len(warned),
        "is_more": len(late) > 6 or len(warned) > 6,
        "commissions": _by_date(commissions),
        "pours": studio.pours.standing().select_related("surface", "technique", "palette")[:4],
        "sold": total(sold),
        "sold_count": len(sold),
        "answers": _answers(studio, today),
        "is_new": not studio.materials.exists(),
    }
    return render(request, "pricing/home.html", context)


def _answers(studio: Studio, today: date) -> list[Quote]:
    """Return the quotes that customers answered by their link in the last days, newest first."""
    rows = studio.quotes.filter(answered_by_link=True, answered_at__date__gt=today - NEWS)
    rows = rows.select_related("commission__customer").defer("frozen")
    return list(rows.order_by("-answered_at"))


def _by_date(commissions: Iterable[Commission]) -> list[Commission]:
    """Return commissions with a date first, soonest on top."""
    return sorted(commissions, key=lambda one: (one.due_on or date.max, -one.number))
