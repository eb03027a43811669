"""Which quotes, payments and sales counted for what was owed on a day, by their own dates.

A quote counts from the day it was accepted until the work was called off, which the events of its
commission tell; a payment and a sale from the day they are booked on, a sale until its refund is.
"""

from collections.abc import Collection, Iterable
from datetime import date, datetime

from django.db.models import Prefetch, Q, QuerySet

from pricing.models import Commission, CommissionEvent, Quote, SaleLine
from studio.models import Studio
from studio.periods import Period

Status = Quote.Status
CALLED_OFF = (Commission.Status.DECLINED, Commission.Status.CANCELLED)


def up_to(column: str, day: date | None) -> dict[str, date]:
    """Return what rows are filtered by whose day has come by a past day; nothing for today."""
    return Period(last=day).of(column)


def standing_lines(day: date | None) -> QuerySet[SaleLine]:
    """Return the lines of sales that stood at the end of a past day, or stand now."""
    if day is None:
        return SaleLine.objects.filter(is_live=True)
    not_given_back = Q(sale__refund_booked_on=None) | Q(sale__refund_booked_on__gt=day)
    return SaleLine.objects.filter(not_given_back, sale__booked_on__lte=day)


def accepted_quotes(
    studio: Studio,
    day: date | None,
    commissions: Collection[Commission] | QuerySet[Commission] | None = None,
) -> Iterable[Quote]:
    """Return the quotes that were accepted, and not called off, at the end of a past day or now."""
    quotes = Quote.objects.filter(studio=studio)
    if commissions is not None:
        quotes = quotes.filter(commission__in=commissions)
    if day is None:
        return quotes.filter(status=Status.ACCEPTED)
    until = Period(last=day).of_moments("answered_at", studio.zone)
    answered = quotes.filter(status__in=(Status.ACCEPTED, Status.DECLINED), **until)
    events = CommissionEvent.objects.order_by("at", "pk")
    answered = answered.prefetch_related(Prefetch("commission__events", events))
    end = Period(last=day).of_moments("at", studio.zone)["at__lt"]
    return [quote for quote in answered if _stood(quote, end)]


def _stood(quote: Quote, end: datetime) -> bool:
    """Tell whether a quote that was answered before a moment was accepted and stood then.

    One that was accepted and later called off is declined by now. What its commission came to
    first, from the answer on, tells it from one that its customer declined.
    """
    if quote.status == Status.ACCEPTED:
        return True
    assert quote.answered_at is not None
    answers = (Commission.Status.ACCEPTED, *CALLED_OFF)
    after = [
        one
        for one in quote.commission.events.all()
        if one.at >= quote.answered_at and one.status in answers
    ]
    if not after or after[0].status != Commission.Status.ACCEPTED:
        return False
    off = next((one for one in after if one.status in CALLED_OFF), None)
    return off is None or off.at >= end
