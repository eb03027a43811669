"""The studio's working days: hours by weekday, days off, and places to dry pieces on."""

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction

from pricing.calendar import timing
from pricing.errors import CalendarRefused
from pricing.models import DayOff, StudioCalendar, WorkingHours
from pricing.models.calendar import USUAL_HOURS, USUAL_PLACES
from studio.dates import in_full
from studio.errors import in_words
from studio.models import Studio

MOST_DAYS_OFF = 366


def hours_of(studio: Studio) -> tuple[Decimal, ...]:
    """Return the hands-on hours of Monday to Sunday, [h], in one query."""
    set_by_studio = {row.weekday: row.hours for row in studio.working_hours.all()}
    return tuple(set_by_studio.get(number, usual) for number, usual in enumerate(USUAL_HOURS))


def rack_places_of(studio: Studio) -> int:
    """Return how many pieces can lie drying at once, in one query."""
    row = StudioCalendar.objects.filter(studio=studio).first()
    return row.rack_places if row else USUAL_PLACES


def week_of(studio: Studio) -> timing.WorkingWeek:
    """Return the studio's `timing.WorkingWeek`, from today on, in three queries."""
    off = studio.days_off.filter(day__gte=studio.today()).values_list("day", flat=True)
    return timing.WorkingWeek(
        minutes=tuple(60 * hours for hours in hours_of(studio)),
        days_off=frozenset(off),
        rack_places=rack_places_of(studio),
    )


@transaction.atomic
def set_working_days(
    *, studio: Studio, hours: Sequence[Decimal], rack_places: int
) -> StudioCalendar:
    """Set the hours of Monday to Sunday, [h], and the places to dry pieces on.

    Raises `Refused` for hours that no week has, or none at all.
    """
    Studio.objects.select_for_update(no_key=True).get(pk=studio.pk)
    with in_words(timing.TimingError):
        timing.WorkingWeek(tuple(60 * Decimal(one) for one in hours), rack_places=rack_places)
    row, _ = StudioCalendar.objects.get_or_create(studio=studio)
    row.rack_places = rack_places
    try:
        row.full_clean(exclude=["studio"])
    except ValidationError as error:
        raise CalendarRefused("Give 1 to 2000 places to dry pieces on.") from error
    row.save(update_fields=["rack_places"])
    for weekday, one in enumerate(hours):
        WorkingHours.objects.update_or_create(
            studio=studio, weekday=weekday, defaults={"hours": one}
        )
    return row


@transaction.atomic
def take_days_off(
    *, studio: Studio, first: date, last: date | None = None, reason: str = ""
) -> list[DayOff]:
    """Take a day off, or all days from the first to the last; returns them as rows.

    A day that is off already keeps its place and takes the new reason.
    """
    last = last or first
    if last < first:
        raise CalendarRefused("The last day off comes before the first. Turn them round.")
    if first < studio.today():
        raise CalendarRefused(f"{in_full(first)} is past. Take days off from today on.")
    if (last - first).days >= MOST_DAYS_OFF:
        raise CalendarRefused("Take at most a year off at once.")
    days = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    DayOff.objects.bulk_create(
        [DayOff(studio=studio, day=one, reason=reason) for one in days],
        update_conflicts=True,
        unique_fields=["studio", "day"],
        update_fields=["reason"],
    )
    return list(studio.days_off.filter(day__range=(first, last)))


@transaction.atomic
def work_again(*, day_off: DayOff) -> None:
    """Make a day off a working day again."""
    day_off.delete()
