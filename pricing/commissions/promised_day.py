"""The day promised to a customer: given, moved or taken back, each time on record with a name."""

from datetime import date

from django.contrib.auth.models import User
from django.db import transaction

from pricing.errors import CalendarRefused, CommissionClosed
from pricing.models import Commission, CommissionEvent
from studio.dates import in_full as day

Status = Commission.Status

# What is ready, delivered or declined is promised no more.
PROMISABLE = (Status.ENQUIRY, Status.QUOTED, Status.ACCEPTED, Status.IN_WORK)


@transaction.atomic
def promise_day(*, commission: Commission, by: User | None, on: date | None) -> Commission:
    """Promise a commission for a day, move the promise, or take it back with None.

    The day need not be one the schedule can keep: who promises may know better, and is shown what
    the schedule says. Raises `CalendarRefused` for a day that is past.
    """
    commission = Commission.objects.select_for_update().get(pk=commission.pk)
    if commission.status not in PROMISABLE:
        status = commission.get_status_display().lower()
        raise CommissionClosed(f"{commission} is {status}, so there is nothing left to promise.")
    if on is not None and on < commission.studio.today():
        raise CalendarRefused(f"{day(on)} is past. Promise a day from today on.")
    before = commission.promised_on
    if on == before:
        return commission
    commission.promised_on = on
    commission.save(update_fields=["promised_on"])
    words = f"Promised for {day(on)}" if on else "Promise taken back"
    CommissionEvent.objects.create(
        commission=commission,
        status=commission.status,
        by=by,
        note=f"{words}; before that for {day(before)}" if before else words,
    )
    return commission
