"""The months that are closed, so that what a bookkeeper was given stays as it was."""

from datetime import date

from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from rest_framework import serializers

from pricing.earnings.closing import close_months
from pricing.earnings.views.closing import stock_answer
from studio.api.acts import act, file
from studio.api.fields import DayField
from studio.api.files import AS, TABLES, asked_format
from studio.api.rows import RowOut
from studio.api.serializers import WhyIn
from studio.api.viewsets import Added, Listed, Read
from studio.closing import reopen_months
from studio.models import Closing


class ClosingOut(RowOut):
    """All months closed up to a day, or, with ``reopens``, one closing opened again."""

    by = serializers.CharField(source="by.username", allow_null=True, default=None)
    reopened_by = serializers.IntegerField(source="reopened_by.pk", allow_null=True, default=None)

    class Meta:
        model = Closing
        fields = read_only_fields = (
            *("id", "up_to", "recorded_at", "by", "reopens", "reopened_by", "why"),
        )


class ClosingIn(serializers.Serializer):
    """The last day of a month that is over."""

    up_to = DayField()


class Closings(Listed, Read, Added):
    """What was closed and opened again, newest first."""

    model, out, takes = Closing, ClosingOut, ClosingIn
    read_role = write_role = "owner"
    changed_by = ("recorded_at", "reopened_by__recorded_at")

    def rows(self) -> QuerySet[Closing]:
        return self.studio.closings.select_related("by", "reopened_by").defer("stock_value")

    def add(self, up_to: date) -> Closing:
        """Close all months up to a day; what is dated in them is booked later from now on."""
        return close_months(studio=self.studio, by=self.request.user, up_to=up_to)

    @file(media_types=TABLES, parameters=(AS,), path="stock-value")
    def stock(self, closing: Closing) -> HttpResponse:
        """What stock was worth at the end of a closed month, as it was told on closing."""
        if closing.reopens_id:
            raise Http404
        return stock_answer(closing, asked_format(self.request))

    @act(WhyIn, status=201)
    def reopen(self, closing: Closing, why: str) -> Closing:
        """Open again what the last closing closed."""
        return reopen_months(closing=closing, by=self.request.user, why=why)
