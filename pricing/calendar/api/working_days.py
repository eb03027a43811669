"""Working days: hours by weekday, places to dry pieces on, days off."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from pricing.calendar import working_days as calendar
from pricing.models import DayOff, StudioCalendar
from studio.api.acts import describes
from studio.api.fields import DayField
from studio.api.rows import RowOut
from studio.api.viewsets import Changed, Listed, Read, Removed
from studio.models import Studio


class WorkingDaysOut(serializers.Serializer):
    """Hands-on hours of Monday to Sunday, and how many pieces can lie drying at once."""

    hours = serializers.ListField(
        child=serializers.DecimalField(4, 2, min_value=0, max_value=24), min_length=7, max_length=7
    )
    rack_places = serializers.IntegerField(min_value=1, max_value=2000)


class WorkingDays(Read, Changed):
    """Hours by weekday and places on the racks."""

    model, out, takes = StudioCalendar, WorkingDaysOut, WorkingDaysOut
    write_role = "owner"

    def row(self, *, lock: bool = False) -> dict[str, Any]:
        if lock:
            Studio.objects.select_for_update(no_key=True).get(pk=self.studio.pk)
        hours, places = calendar.hours_of(self.studio), calendar.rack_places_of(self.studio)
        return {"hours": hours, "rack_places": places}

    def fresh_response(self, row: Any, status: int = 200) -> Response:
        return self.response_of(self.row(), status=status)

    def change(self, row: dict[str, Any], sent: BaseSerializer) -> StudioCalendar:
        """Set the hours of each weekday and the places on the racks."""
        return calendar.set_working_days(studio=self.studio, **(row | sent.validated_data))


class DayOffOut(RowOut):
    class Meta:
        model = DayOff
        fields = read_only_fields = ("id", "day", "reason")


class DaysOffIn(serializers.Serializer):
    """A day off, or all days from ``first`` to ``last``."""

    first = DayField()
    last = DayField(required=False)
    reason = serializers.CharField(max_length=80, required=False, allow_blank=True)


class DaysOff(Listed, Read, Removed):
    """The days off, earliest first."""

    model, out, takes = DayOff, DayOffOut, DaysOffIn
    write_role = "owner"

    def rows(self) -> QuerySet[DayOff]:
        return self.studio.days_off.all()

    @describes(gives=DayOffOut(many=True))
    def create(self, request: Request) -> Response:
        """Take a day off, or several in a row."""
        days_off = calendar.take_days_off(studio=self.studio, **self.sent(DaysOffIn))
        return self.response_of(days_off, status=201)

    def remove(self, day_off: DayOff) -> None:
        """Work on a day that was off."""
        calendar.work_again(day_off=day_off)
