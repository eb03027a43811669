"""The schedule: what to do on which day, what is ready when, and the day a customer is promised."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from pricing.calendar import calendar_links
from pricing.calendar.feed import calendar_feed
from pricing.calendar.forms.schedule import PromiseForm
from pricing.calendar.late import late_works
from pricing.calendar.schedule import plan
from pricing.calendar.what_if import earliest_promise, what_if
from pricing.commissions.promised_day import PROMISABLE, promise_day
from pricing.commissions.views.commissions import commission_or_404, page_of
from pricing.errors import LinkGone
from studio.access import link_page, member_page
from studio.dates import in_full as day
from studio.errors import StudioError
from studio.requests import StudioRequest
from studio.site import address
from studio.views.form_page import action

# So many days with work stand open on the page; later ones are folded away.
DAYS_SHOWN = 7


def _schedule_page(request: StudioRequest, **more: object) -> HttpResponse:
    context = dict(more)
    try:
        planned = plan(request.studio)
    except StudioError as error:
        context["problem"] = str(error)
    else:
        days, late = planned.days(), late_works(request.studio)
        context |= {
            "plan": planned,
            "late_asked": [one for one in late if one.is_asked],
            "late_packed": [one for one in late if one.packed],
            "days": days[:DAYS_SHOWN],
            "later_days": days[DAYS_SHOWN:],
            "problems": planned.problems.items(),
            "has_resin": any(work.has_resin for work in planned.works),
        }
    if request.membership.may("maker"):
        links = list(calendar_links.links_seen_by(request.membership))
        context["links"] = links
        context["own_link"] = next((one for one in links if one.user == request.user), None)
    return render(request, "pricing/calendar/schedule.html", context)


@require_safe
@member_page("viewer")
def schedule(request: StudioRequest) -> HttpResponse:
    """Show all accepted work by commission and by day, what is late first in words."""
    return _schedule_page(request)


@require_POST
@member_page("maker")
@never_cache
def calendar_link_new(request: StudioRequest) -> HttpResponse:
    """Make the person's own feed address, in place of an earlier one, and show it this once."""
    _, secret = calendar_links.make_calendar_link(studio=request.studio, user=request.user)
    return _schedule_page(request, link_url=address_of_feed(secret))


@require_POST
@member_page("maker")
def calendar_link_revoke(request: StudioRequest, pk: int) -> HttpResponse:
    """Make a feed address stop working: one's own, or as an owner anybody's."""
    link = get_object_or_404(calendar_links.links_seen_by(request.membership), pk=pk)
    page = reverse("schedule")
    return action(
        request,
        lambda: calendar_links.revoke_calendar_link(link=link),
        lambda _: ("The calendar link no longer works.", page),
        back=page,
    )


def address_of_feed(secret: str) -> str:
    """Return the address of a feed, whole."""
    return address(reverse("calendar-feed", args=[secret]))


@require_safe
@link_page
def calendar_feed_page(request: HttpRequest, secret: str) -> HttpResponse:
    """Give whoever holds the link the studio's plan as an iCalendar file."""
    try:
        studio = calendar_links.studio_of(secret)
    except LinkGone as gone:
        raise Http404(str(gone)) from gone
    return HttpResponse(
        calendar_feed(studio),
        content_type="text/calendar; charset=utf-8",
        headers={
            "Content-Disposition": 'inline; filename="schedule.ics"',
            "X-Robots-Tag": "noindex",
            "Referrer-Policy": "no-referrer",  # the address is the key
        },
    )


@require_safe
@member_page("viewer")
def commission_promise(request: StudioRequest, number: int) -> HttpResponse:
    """Show when a commission can honestly be ready, and what a promise would move."""
    row = commission_or_404(request, number)
    form = PromiseForm(request.GET if "promised_on" in request.GET else None)
    form.fields["promised_on"].initial = row.promised_on or row.due_on
    context: dict[str, Any] = {
        "commission": row,
        "form": form,
        "may_promise": row.status in PROMISABLE,
    }
    try:
        if form.is_bound and form.is_valid():
            context["asked"] = what_if(row, form.cleaned_data["promised_on"])
            context["work"] = context["asked"].before
        else:
            context["work"] = earliest_promise(row)
    except StudioError as error:
        context["problem"] = str(error)
    status = 422 if form.is_bound and not form.is_valid() else 200
    return render(request, "pricing/calendar/promise.html", context, status=status)


@require_POST
@member_page("maker")
def commission_promise_keep(request: StudioRequest, number: int) -> HttpResponse:
    """Promise a commission for a day, or take the promise back."""
    commission = commission_or_404(request, number)
    form = PromiseForm(request.POST)
    back = reverse("commission-promise", args=[number])
    if not form.is_valid():
        messages.error(request, "Give the day as a date, such as 2026-05-31.")
        return redirect(back)
    on = form.cleaned_data["promised_on"]
    message = f"Promised for {day(on)}." if on else "The promise is taken back."
    return action(
        request,
        lambda: promise_day(commission=commission, by=request.user, on=on),
        lambda _: (message, page_of(commission)),
        back=back,
    )
