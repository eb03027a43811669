"""Working days: hours by weekday, places to dry pieces on, days off."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.calendar import working_days as calendar
from pricing.models import DayOff
from studio.api.fields import DayField
from studio.api.rows import asked
from studio.api.schema import pages_of
from studio.api.views import StudioView


class WorkingDays(serializers.Serializer):
    """Hands-on hours of Monday to Sunday, and how many pieces can lie drying at once."""

    hours = serializers.ListField(
        child=serializers.DecimalField(4, 2, min_value=0, max_value=24), min_length=7, max_length=7
    )
    rack_places = serializers.IntegerField(min_value=1, max_value=2000)


class DayOffOut(serializers.ModelSerializer):
    class Meta:
        model = DayOff
        fields = ["id", "day", "reason"]
        read_only_fields = fields


class DaysOffIn(serializers.Serializer):
    """A day off, or all days from ``first`` to ``last``."""

    first = DayField()
    last = DayField(required=False)
    reason = serializers.CharField(max_length=80, required=False, allow_blank=True)


def _answer(studio):
    found = {
        "hours": calendar.hours_of(studio),
        "rack_places": calendar.rack_places_of(studio),
    }
    return Response(WorkingDays(found).data)


class WorkingDaysEndpoint(StudioView):
    """Hours by weekday and places on the racks."""

    write_role = "owner"

    @extend_schema(operation_id="working_days_read", responses=WorkingDays)
    def get(self, request):
        """Read the hours of each weekday and the places on the racks."""
        return _answer(request.studio)

    @extend_schema(operation_id="working_days_set", request=WorkingDays, responses=WorkingDays)
    def put(self, request):
        """Set the hours of each weekday and the places on the racks."""
        sent = asked(request, WorkingDays).validated_data
        calendar.set_working_days(studio=request.studio, **sent)
        return _answer(request.studio)


class DaysOffEndpoint(StudioView):
    """Days off."""

    write_role = "owner"

    @extend_schema(operation_id="days_off_list", responses=pages_of(DayOffOut))
    def get(self, request):
        """List the days off, earliest first."""
        return self.paginated(request.studio.days_off.all(), DayOffOut)

    @extend_schema(
        operation_id="days_off_take", request=DaysOffIn, responses={201: DayOffOut(many=True)}
    )
    def post(self, request):
        """Take a day off, or several in a row."""
        sent = asked(request, DaysOffIn).validated_data
        taken = calendar.take_days_off(studio=request.studio, **sent)
        return Response(DayOffOut(taken, many=True).data, status=201)


class DayOffEndpoint(StudioView):
    """One day off."""

    write_role = "owner"

    @extend_schema(operation_id="days_off_remove", responses={204: None})
    def delete(self, request, pk):
        """Work on a day that was off."""
        calendar.work_again(day_off=get_object_or_404(request.studio.days_off, pk=pk))
        return Response(status=204)
