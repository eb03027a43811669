"""Today: a quick answer, the day's work, what stops it, what waits, what the month earned."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Protocol, TypeVar

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.buying.alerts import alerts, work_alerts
from pricing.bench.at_hand import at_hand
from pricing.bench.work import work_list
from pricing.commissions.owing import accounts
from pricing.earnings.profit import SetProfit, of_currencies, set_profit
from pricing.earnings.report import shown_total
from pricing.estimating.views.planner import first_form
from pricing.models import Commission, Posting, Quote, TileAnswer
from pricing.starting.steps import first_steps
from studio import jobs, outbox
from studio.access import member_page
from studio.backups.making import standing
from studio.errors import StudioError
from studio.models import Studio
from studio.money import ZERO, Sum
from studio.periods import Period
from studio.requests import StudioRequest
from studio.sight import PRICES, PROFIT


class HasDay(Protocol):
    """Work that can be done from a day on."""

    @property
    def from_on(self) -> date: ...


Dated = TypeVar("Dated", bound=HasDay)

# For how long a customer's own answer stands on the page.
NEWS = timedelta(days=7)
FEW = 6  # rows of a kind; the page that has all of them is a tap away
ENQUIRY, QUOTED = Commission.Status.ENQUIRY, Commission.Status.QUOTED
OPEN = (ENQUIRY, QUOTED, "accepted", "in_work", "ready", "delivered")


@require_safe
@member_page("viewer")
def home(request: StudioRequest) -> HttpResponse:
    """Show the day: the quick answer, the work, what stops it, what waits, what was earned."""
    studio = request.studio
    today = studio.today()
    warned = alerts(studio, with_money=request.membership.sees(PROFIT))
    late = work_alerts(studio)
    context = {
        "today": today,
        "quick": first_form(request),
        "work_alerts": late[:FEW],
        "alerts": warned[:FEW],
        "alert_count": len(late) + len(warned),
        "is_more": len(late) > FEW or len(warned) > FEW,
    }
    context |= _work(studio) | _waiting(request, today)
    if request.membership.may("maker"):
        context["hand"] = at_hand(studio)
    if request.membership.may("owner"):
        context |= {
            "first_steps": first_steps(studio),
            "backups": standing(),
            "is_late": jobs.is_late(),
            "unsent_count": outbox.unsent(studio.mails.all()).exclude(tries=0).count(),
        }
    if request.membership.sees(PROFIT):
        context["months"] = _earned(studio, today)
    return render(request, "pricing/home.html", context)


def _work(studio: Studio) -> dict[str, object]:
    """Return what is to be done today after a pour, the first few of each kind."""
    try:
        work = work_list(studio)
    except StudioError as error:
        return {"no_work": str(error)}
    return {
        "coatings": _now(work.coatings, work.day),
        "judgings": _now(work.judgings, work.day),
        "packings": _now(work.packings, work.day),
        "deliveries": _now(work.deliveries, work.day),
    }


def _now(rows: Iterable[Dated], day: date) -> list[Dated]:
    return [one for one in rows if one.from_on <= day][:FEW]


def _waiting(request: StudioRequest, today: date) -> dict[str, object]:
    """Return what customers said, who waits for a quote, whose answer is awaited, who owes."""
    studio = request.studio
    rows = list(studio.commissions.filter(status__in=OPEN).select_related("customer"))
    rows = _by_date(rows)
    owing = accounts(studio, rows) if request.membership.sees(PRICES) else []
    return {
        "answers": _answers(studio, today),
        "tile_answers": _tile_answers(studio, today),
        "enquiries": [one for one in rows if one.status == ENQUIRY][:FEW],
        "quoted": [one for one in rows if one.status == QUOTED][:FEW],
        "owing": sorted((one for one in owing if one.owed > 0), key=lambda one: -one.owed)[:FEW],
    }


def _earned(studio: Studio, today: date) -> list[tuple[date, list[Sum], int]]:
    """Return of last month and of this one its first day, the profit, and how many were sold."""
    first = today.replace(day=1)
    before = (first - timedelta(days=1)).replace(day=1)
    rows = set_profit(studio, Period(before, None))
    return [
        (month, *_sums(studio, [row for row in rows if row.day.replace(day=1) == month]))
        for month in (before, first)
    ]


def _sums(studio: Studio, rows: Sequence[SetProfit]) -> tuple[list[Sum], int]:
    sold = of_currencies(rows, studio.currency)
    sums = [Sum(currency, studio.locale, shown_total(own).profit) for currency, own in sold.items()]
    count = sum(row.kind == Posting.Kind.SOLD for row in rows)
    return sums or [Sum(studio.currency, studio.locale, ZERO)], count


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
