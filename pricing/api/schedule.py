"""The schedule: when accepted work can be ready, what a promise would do, and the feed."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.api.commissions import CommissionOut, CommissionView
from pricing.calendar import calendar_links
from pricing.calendar.schedule import plan
from pricing.calendar.views.schedule import feed_url
from pricing.calendar.what_if import earliest_promise, what_if
from pricing.commissions.promising import promise_day
from pricing.models import CalendarLink
from studio.api.fields import DayField
from studio.api.rows import asked
from studio.api.schema import pages_of
from studio.api.views import StudioView


class PlannedStepOut(serializers.Serializer):
    """A step by hand; ``is_again`` is for pieces poured again if some fail."""

    line = serializers.IntegerField(source="line.pk")
    step = serializers.CharField()
    pieces = serializers.IntegerField()
    begins, ends = serializers.DateField(), serializers.DateField()
    minutes = serializers.DecimalField(10, 2)
    is_again = serializers.BooleanField()


class WaitOut(serializers.Serializer):
    """Pieces drying or curing, from a day until a day; an estimate by film and kit."""

    line = serializers.IntegerField(source="line.pk")
    what = serializers.ChoiceField(["drying", "curing"])
    pieces = serializers.IntegerField()
    begins, ends = serializers.DateField(), serializers.DateField()
    is_again = serializers.BooleanField()


class PlannedWorkOut(serializers.Serializer):
    """A commission by its number with the honest day it is ready, and that if nothing fails."""

    commission = serializers.IntegerField(source="commission.number")
    title = serializers.CharField(source="commission.title")
    due_on = serializers.DateField(source="commission.due_on", allow_null=True)
    promised_on = serializers.DateField(source="commission.promised_on", allow_null=True)
    ready_on, at_best = serializers.DateField(), serializers.DateField()
    is_late = serializers.BooleanField()
    steps, waits = PlannedStepOut(many=True), WaitOut(many=True)


class NotPlannedOut(serializers.Serializer):
    commission = serializers.IntegerField()
    why = serializers.CharField()


class LoadOut(serializers.Serializer):
    """One day with work: minutes by hand, rack places taken, and what becomes ready."""

    day = serializers.DateField()
    minutes = serializers.DecimalField(10, 2)
    lying = serializers.IntegerField()
    ready = serializers.ListField(child=serializers.IntegerField())


class ScheduleOut(serializers.Serializer):
    """All accepted work in the order it is planned, by commission and by day."""

    rack_places = serializers.IntegerField()
    works = PlannedWorkOut(many=True)
    days = LoadOut(many=True)
    not_planned = NotPlannedOut(many=True)


class MovedOut(serializers.Serializer):
    commission = serializers.IntegerField(source="commission.number")
    before, after = serializers.DateField(), serializers.DateField()
    wanted = serializers.DateField(allow_null=True)
    is_late = serializers.BooleanField()


class WhatIfOut(serializers.Serializer):
    """What a promise would do; ``is_kept`` says whether the schedule can keep it."""

    promised_on = serializers.DateField(allow_null=True)
    is_kept = serializers.BooleanField()
    before, after = PlannedWorkOut(), PlannedWorkOut()
    others = MovedOut(many=True)


class PromiseIn(serializers.Serializer):
    """The day promised; null takes the promise back."""

    promised_on = DayField(allow_null=True)


class ScheduleEndpoint(StudioView):
    """The schedule."""

    @extend_schema(operation_id="schedule_read", responses=ScheduleOut)
    def get(self, request):
        """Read when all accepted work can be ready, step by step and day by day."""
        planned = plan(request.studio)
        days = [
            {
                "day": one.day,
                "minutes": one.minutes,
                "lying": one.lying,
                "ready": [ready.number for ready in one.ready],
            }
            for one in planned.days()
        ]
        answer = {
            "rack_places": planned.rack_places,
            "works": planned.works,
            "days": days,
            "not_planned": [
                {"commission": one.number, "why": why} for one, why in planned.problems.items()
            ],
        }
        return Response(ScheduleOut(answer).data)


class PromiseEndpoint(CommissionView):
    """The day a commission is promised for."""

    @extend_schema(operation_id="commissions_earliest_promise", responses={200: PlannedWorkOut})
    def get(self, request, number):
        """Read the earliest honest promise, or the day as planned; 204 with nothing left to do."""
        found = earliest_promise(self.found(request, number))
        return Response(PlannedWorkOut(found).data) if found else Response(status=204)

    @extend_schema(
        operation_id="commissions_promise", request=PromiseIn, responses={200: CommissionOut}
    )
    def put(self, request, number):
        """Promise the commission for a day, move the promise, or take it back with null."""
        found = self.found(request, number)
        sent = asked(request, PromiseIn).validated_data
        promise_day(commission=found, by=request.user, on=sent["promised_on"])
        return self.answer(request, number)


class PromiseWhatIfEndpoint(CommissionView):
    """What a promise would do."""

    @extend_schema(
        operation_id="commissions_promise_what_if",
        parameters=[OpenApiParameter("promised_on", str, description="A date; none for none.")],
        responses=WhatIfOut,
    )
    def get(self, request, number):
        """See what promising a day would move, and change nothing."""
        query = PromiseIn(data={"promised_on": request.query_params.get("promised_on") or None})
        query.is_valid(raise_exception=True)
        found = self.found(request, number)
        return Response(WhatIfOut(what_if(found, query.validated_data["promised_on"])).data)


class CalendarLinkOut(serializers.ModelSerializer):
    user = serializers.CharField(source="user.username")

    class Meta:
        model = CalendarLink
        fields = ["id", "user", "created_at"]
        read_only_fields = fields


class NewCalendarLinkOut(serializers.Serializer):
    """A feed's private address; ``url`` is shown this once and kept nowhere."""

    id = serializers.IntegerField()
    url = serializers.URLField()


class CalendarLinksEndpoint(StudioView):
    """Private addresses of the calendar feed."""

    read_role = "maker"
    remembers = False

    @extend_schema(operation_id="calendar_links_list", responses=pages_of(CalendarLinkOut))
    def get(self, request):
        """List the addresses that work: one's own, for an owner everybody's."""
        return self.paginated(calendar_links.links_seen_by(request.membership), CalendarLinkOut)

    @extend_schema(
        operation_id="calendar_links_make", request=None, responses={201: NewCalendarLinkOut}
    )
    def post(self, request):
        """Make one's own feed address; an earlier one stops working."""
        link, secret = calendar_links.make_calendar_link(studio=request.studio, user=request.user)
        answer = {"id": link.pk, "url": feed_url(request, secret)}
        return Response(NewCalendarLinkOut(answer).data, status=201)

    @extend_schema(operation_id="calendar_links_stop", responses={204: None})
    def delete(self, request):
        """Make one's own feed address stop working; harmless when there is none."""
        links = calendar_links.links_seen_by(request.membership).filter(user=request.user)
        for link in links:
            calendar_links.revoke_calendar_link(link=link)
        return Response(status=204)


class CalendarLinkEndpoint(StudioView):
    """One private address of the calendar feed, anybody's."""

    write_role = "owner"

    @extend_schema(operation_id="calendar_links_revoke", responses={204: None})
    def delete(self, request, pk):
        """Make anybody's address stop working."""
        links = calendar_links.links_seen_by(request.membership)
        calendar_links.revoke_calendar_link(link=get_object_or_404(links, pk=pk))
        return Response(status=204)
