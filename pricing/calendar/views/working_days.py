"""Working days: hours by weekday, days off, and places to dry pieces on."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from pricing.calendar import working_days as calendar
from pricing.calendar.forms.schedule import DaysOffForm, WorkingDaysForm
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import action, form_page


@member_page("owner")
def working_days(request: StudioRequest) -> HttpResponse:
    """Show and change the hours of each weekday and the places on the racks."""
    studio = request.studio
    hours = enumerate(calendar.hours_of(studio))
    initial: dict[str, object] = {
        f"hours_{number}": f"{one.normalize():f}" for number, one in hours
    }
    initial["rack_places"] = calendar.rack_places_of(studio)
    form = WorkingDaysForm(request.POST or None, initial=initial)
    return form_page(
        request,
        form,
        title="Working days",
        act=lambda data: calendar.set_working_days(
            studio=studio, hours=form.hours, rack_places=data["rack_places"]
        ),
        done=lambda _: ("The working days are saved.", reverse("working-days")),
        template="pricing/calendar/working_days.html",
        off_form=DaysOffForm(prefix="off"),
        days_off=studio.days_off.filter(day__gte=studio.today()),
    )


@require_POST
@member_page("owner")
def days_off_new(request: StudioRequest) -> HttpResponse:
    """Take a day off, or several in a row."""
    form, page = DaysOffForm(request.POST, prefix="off"), reverse("working-days")
    if not form.is_valid():
        messages.error(request, "Give the first day off as a date, such as 2026-05-31.")
        return redirect(page)
    return action(
        request,
        lambda: calendar.take_days_off(studio=request.studio, **form.cleaned_data),
        lambda days_off: (
            f"{len(days_off)} day{'' if len(days_off) == 1 else 's'} taken off. "
            "What is planned makes room.",
            page,
        ),
        back=page,
    )


@require_POST
@member_page("owner")
def day_off_remove(request: StudioRequest, pk: int) -> HttpResponse:
    """Work on a day that was off."""
    day_off, page = get_object_or_404(request.studio.days_off, pk=pk), reverse("working-days")
    return action(
        request,
        lambda: calendar.work_again(day_off=day_off),
        lambda _: ("It is a working day again.", page),
        back=page,
    )
