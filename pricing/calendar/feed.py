"""The studio's plan as a calendar to subscribe to (RFC 5545): pours, cures, ready and due days.

It leaves the studio for whatever reads it, so it names commissions by number and title and no
customer. All entries are whole days and leave the day free for other appointments.
"""

import uuid
from collections.abc import Iterator
from datetime import date, timedelta

from django.utils import timezone
from icalendar import Calendar, Event

from pricing.calendar.schedule import Plan, PlannedWork, plan
from pricing.commissions.promised_day import PROMISABLE
from pricing.models import Commission
from studio.errors import StudioError
from studio.models import Studio
from studio.text import one_line

NAMES = uuid.uuid5(uuid.NAMESPACE_OID, "pourwright calendar feed")
HONEST = (
    "An estimate: drying and curing go by film, temperature and humidity. The maker's data sheet "
    "comes first."
)
DAY = timedelta(days=1)
# Key, first day, day after the last, words, text.
Entry = tuple[str, date, date, str, str]


def calendar_feed(studio: Studio) -> bytes:
    """Return the feed of a studio as the bytes of an iCalendar file."""
    calendar = Calendar()
    calendar.add("prodid", "-//Pourwright//Schedule//EN")
    calendar.add("version", "2.0")
    calendar.add("name", one_line(f"{studio}: schedule"))  # RFC 7986, as the next
    calendar.add("refresh-interval", timedelta(hours=6), parameters={"VALUE": "DURATION"})
    stamp = timezone.now()
    for key, first, last, words, text in sorted(_entries(studio), key=lambda one: one[1]):
        event = Event()
        event.add("uid", f"{uuid.uuid5(NAMES, f'{studio.pk} {key}')}")
        event.add("dtstamp", stamp)
        event.add("dtstart", first)
        event.add("dtend", max(last, _after(first)))
        event.add("summary", one_line(words))
        event.add("transp", "TRANSPARENT")
        if text:
            event.add("description", one_line(text))
        calendar.add_component(event)
    return calendar.to_ical()


def _entries(studio: Studio) -> Iterator[Entry]:
    """Yield each entry of the feed."""
    try:
        planned = plan(studio)
    except StudioError:  # the schedule page says why; what is due is due all the same
        planned = Plan(())
    for work in planned.works:
        yield from _work_entries(work)
    open_ones = studio.commissions.filter(status__in=(*PROMISABLE, Commission.Status.READY))
    for one in open_ones:
        for what, day in (("Promised", one.promised_on), ("Wanted", one.due_on)):
            if day:
                yield f"{what} {one.pk}", day, _after(day), f"{what}: {_feed_name(one)}", ""


def _work_entries(work: PlannedWork) -> Iterator[Entry]:
    name = _feed_name(work.commission)
    for one in work.steps:
        again = " again, if some fail" if one.is_again else ""
        words = f"{one.name} {one.pieces}{again}: {name}"
        yield f"{one.key} {one.step}", one.begins, _after(one.ends), words, str(one.line)
    for wait in work.waits:
        if wait.ends > wait.begins:
            words = f"{wait.what.capitalize()} {wait.pieces}: {name}"
            text = f"{wait.line}. {HONEST}"
            yield f"{wait.key} {wait.what}", wait.begins, wait.ends, words, text
    ready = work.ready_on
    yield f"ready {work.commission.pk}", ready, _after(ready), f"Ready: {name}", HONEST


def _after(day: date) -> date:
    """Return the day after, which ends an entry; the calendar's last day has none."""
    return day + DAY if day < date.max else day


def _feed_name(commission: Commission) -> str:
    return f"{commission.title} (commission {commission.number})"
