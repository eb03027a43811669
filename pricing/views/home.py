"""Today: what stops work, what is to be poured, and what the week earned."""

from collections.abc import Iterable
from datetime import date, timedelta

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.buying.alerts import alerts, work_alerts
from pricing.earnings.profit import of_currencies, set_profit
from pricing.earnings.report import shown_total
from pricing.estimating.views.planner import first_form
from pricing.models import Commission, Posting, Quote, TileAnswer
from pricing.starting.steps import first_steps
from studio import jobs, outbox
from studio.access import member_page
from studio.backups.making import standing
from studio.models import Studio
from studio.money import ZERO, Sum
from studio.periods import Period
from studio.requests import StudioRequest
from studio.sight import PROFIT

# For how long a customer's own answer stands on the page.
NEWS = timedelta(days=7)
# The last thirty days, today among them.
LATELY = timedelta(days=29)
OPEN = ("enquiry", "quoted", "accepted", "in_work", "ready", "delivered")


@require_safe
@member_page("viewer")
def home(request: StudioRequest) -> HttpResponse:
    """Show the day: alerts, open commissions by date, the latest pours, the last thirty days."""
    studio = request.studio
    today = studio.today()
    commissions = studio.commissions.filter(status__in=OPEN).select_related("customer")
    warned = alerts(studio, with_money=request.membership.sees(PROFIT))
    late = work_alerts(studio)
    context = {
        "today": today,
        "quick": first_form(request),
        "work_alerts": late[:6],
        "alerts": warned[:6],
        "alert_count": len(late) + len(warned),
        "is_more": len(late) > 6 or len(warned) > 6,
        "commissions": _by_date(commissions),
        "pours": studio.pours.standing().select_related("surface", "technique", "palette")[:4],
        "answers": _answers(studio, today),
        "tile_answers": _tile_answers(studio, today),
        "is_new": not studio.materials.exists(),
    }
    if request.membership.may("owner"):
        context |= {
            "first_steps": first_steps(studio),
            "backups": standing(),
            "is_late": jobs.is_late(),
            "unsent_count": outbox.unsent(studio.mails.all()).exclude(tries=0).count(),
        }
    if request.membership.sees(PROFIT):
        context |= _earned(studio, today)
    return render(request, "pricing/home.html", context)


def _earned(studio: Studio, today: date) -> dict[str, object]:
    """Return what the last thirty days earned, by currency."""
    lately = set_profit(studio, Period(today - LATELY, None))
    sold = of_currencies(lately, studio.currency)
    sums = [
        Sum(currency, studio.locale, shown_total(rows).profit) for currency, rows in sold.items()
    ]
    return {
        "earned": sums or [Sum(studio.currency, studio.locale, ZERO)],
        "sold_count": sum(row.kind == Posting.Kind.SOLD for row in lately),
    }


def _answers(studio: Studio, today: date) -> list[Quote]:
    """Return the quotes that customers answered by their link in the last days, newest first."""
    rows = studio.quotes.filter(answered_by_link=True, answered_at__date__gt=today - NEWS)
    rows = rows.select_related("commission__customer").defer("frozen")
    return list(rows.order_by("-answered_at"))


def _tile_answers(studio: Studio, today: date) -> list[TileAnswer]:
    """Return what customers said of test tiles by their link in the last days, newest first."""
    rows = studio.tile_answers.filter(by_link=True, answered_at__date__gt=today - NEWS)
    return list(rows.select_related("pour__line__commission"))


def _by_date(commissions: Iterable[Commission]) -> list[Commission]:
    """Return commissions with a date first, soonest on top."""
    return sorted(commissions, key=lambda one: (one.due_on or date.max, -one.number))
