"""Closing months: what was given to the bookkeeper stays, and what comes late is booked later.

An act is booked on the day it is dated, or on the first open day where that day's month is closed.
Whatever puts an amount on a day asks `booked_day`, on a studio that `hold_months` returned, so that
no month is closed between its answer and the end of the act.
"""

from calendar import monthrange
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date, timedelta

from django.contrib.auth.models import User
from django.db import connection, transaction

from studio.dates import in_full
from studio.errors import StudioError
from studio.models import Closing, Studio
from studio.text import one_line

DAY = timedelta(days=1)
LONGEST_WHY = 200
MOST_MONTHS = 12
MONTHS = "SELECT id, closed_up_to, time_zone FROM studio_studio WHERE id = %s "

_moved: ContextVar[dict[str, None] | None] = ContextVar("moved", default=None)


class ClosingRefused(StudioError):
    """Raised when a month cannot be closed or opened, or an edit would change a closed one."""

    code = "closing_refused"


@transaction.atomic
def close_months(
    *,
    studio: Studio,
    by: User | None,
    up_to: date,
    stock_value: Callable[[Studio], list[list[str]]] | None = None,
) -> Closing:
    """Close all months up to the last day of one; returns the `Closing`.

    ``stock_value`` tells what stock is worth at its end, as rows of texts, once nobody can book in
    those months any more; it is kept with the closing as it was given. Whoever is in the middle of
    an act is let finish first. Raises `ClosingRefused` for a day that is not the last of a month,
    for a month that is not over on the studio's own calendar, and for one that is closed already.
    """
    row = _locked(studio)
    if up_to != end_of_month(up_to):
        raise ClosingRefused(
            "Months are closed whole: give the last day of one, such as "
            f"{end_of_month(up_to).isoformat()}."
        )
    if up_to >= row.today():
        raise ClosingRefused(
            f"{up_to:%B %Y} is not over yet. Close it from {in_full(up_to + DAY)} on."
        )
    if row.closed_up_to and up_to <= row.closed_up_to:
        raise ClosingRefused(
            f"{up_to:%B %Y} is closed already: all is closed up to {in_full(row.closed_up_to)}."
        )
    given = stock_value(row) if stock_value else []
    closing = Closing.objects.create(studio=row, up_to=up_to, by=by, stock_value=given)
    _keep(row, studio)
    return closing


@transaction.atomic
def reopen_months(*, closing: Closing, by: User | None, why: str) -> Closing:
    """Open again what the last closing closed, for a reason that is kept; returns the row of it.

    What was booked later meanwhile stays where it is. Raises `ClosingRefused` without a reason, and
    for any closing but the last that stands.
    """
    row = _locked(closing.studio)
    last = row.closings.standing().first()
    if last is None or last.pk != closing.pk:
        raise ClosingRefused("Only the last closing can be opened again. Open later ones first.")
    why = one_line(why)
    if not why:
        raise ClosingRefused("Say why the month is opened again: it is kept with the closing.")
    if len(why) > LONGEST_WHY:
        raise ClosingRefused(f"That is too long; {LONGEST_WHY} characters are enough to say why.")
    opened = Closing.objects.create(
        studio=row, up_to=closing.up_to, by=by, reopens=closing, why=why
    )
    _keep(row, closing.studio)
    return opened


def hold_months(key: int) -> Studio:
    """Return a studio, by its key, with its months as they are now and stay until the act is over.

    On PostgreSQL this is the lock that any row which names the studio takes: it keeps a closing
    waiting, and nobody else. SQLite lets nobody write beside an act anyway.
    """
    (studio,) = Studio.objects.raw(MONTHS + held(), [key])
    return studio


def held() -> str:
    """Return the end of a query of a studio that keeps its months as they are."""
    return "FOR KEY SHARE" if connection.features.has_select_for_update else ""


def booked_day(studio: Studio, day: date) -> date:
    """Return the day an act is booked on: the one it is dated, or the first open day.

    ``studio`` is read by `hold_months`, in the transaction of the act.
    """
    last = studio.closed_up_to
    if last is None or day > last:
        return day
    first = last + DAY
    if (told := _moved.get()) is not None:
        told[f"{day:%B %Y} is closed: this is booked on {in_full(first)}."] = None
    return first


@contextmanager
def moves_told() -> Iterator[dict[str, None]]:
    """Yield sentences, as keys, on what is booked later than it is dated while this lasts."""
    told: dict[str, None] = {}
    before = _moved.set(told)
    try:
        yield told
    finally:
        _moved.reset(before)


def months_to_close(studio: Studio) -> list[date]:
    """Return the last days of the months that can be closed now, the earliest first."""
    last = studio.today().replace(day=1) - DAY
    months: list[date] = []
    while len(months) < MOST_MONTHS and (not studio.closed_up_to or last > studio.closed_up_to):
        months.append(last)
        last = last.replace(day=1) - DAY
    return months[::-1]


def end_of_month(day: date) -> date:
    """Return the last day of the month of a day.

    >>> print(end_of_month(date(2028, 2, 3)))
    2028-02-29
    """
    return day.replace(day=monthrange(day.year, day.month)[1])


def _locked(studio: Studio) -> Studio:
    """Lock the studio against every act that is about to be booked, see `hold_months`."""
    return Studio.objects.select_for_update().get(pk=studio.pk)


def _keep(row: Studio, studio: Studio) -> None:
    last = row.closings.standing().first()
    row.closed_up_to = last.up_to if last else None
    row.save(update_fields=["closed_up_to"])
    studio.closed_up_to = row.closed_up_to
