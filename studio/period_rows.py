"""The rows of a period, and the period that a page is asked for."""

from datetime import date
from typing import Any, TypeVar

from django.db.models import DateTimeField, Model, QuerySet

from studio.errors import StudioError
from studio.models import Studio
from studio.past_day import NAME, PastDayError, read_past_day
from studio.periods import Period, PeriodError, read_period
from studio.requests import StudioRequest

Rows = TypeVar("Rows", bound=QuerySet[Any])


class BadPeriod(StudioError):
    """Raised when an address asks for a period that is none."""

    code = "bad_period"


def period_of(request: StudioRequest, default: str = "all") -> Period:
    """Return the period that the address of a page asks for; ``default`` is one of `NAMES`."""
    studio = request.studio
    try:
        return read_period(request.GET.dict(), studio.today(), studio.year_begins, default)
    except PeriodError as error:
        raise BadPeriod(str(error)) from None


class BadDay(StudioError):
    """Raised when an address asks for a day of which nothing can be told."""

    code = "bad_day"


def past_day_of(request: StudioRequest) -> date | None:
    """Return the past day that the address of a page asks for; None for now."""
    try:
        return read_past_day(request.GET.get(NAME, ""), request.studio.today())
    except PastDayError as error:
        raise BadDay(str(error)) from None


def in_period(rows: Rows, column: str, period: Period, studio: Studio) -> Rows:
    """Return the rows whose day, or moment on the studio's calendar, lies in a period.

    ``column`` is the way to it from the rows, such as ``entry__happened_at``.
    """
    if isinstance(_field(rows.model, column), DateTimeField):
        return rows.filter(**period.of_moments(column, studio.zone))
    return rows.filter(**period.of(column))


def _field(model: type[Model], column: str) -> Any:
    first, _, rest = column.partition("__")
    field = model._meta.get_field(first)
    return _field(field.related_model, rest) if rest else field  # type: ignore[arg-type]  # a way leads over rows
