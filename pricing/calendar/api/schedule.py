"""The schedule: when accepted work can be ready, and what a promise would do."""

from datetime import date

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from pricing.calendar.schedule import Day, Plan, PlannedWork, plan
from pricing.calendar.what_if import WhatIf, earliest_promise, what_if
from pricing.commissions.api.commissions import CommissionOut, commissions_of
from pricing.commissions.promised_day import promise_day
from pricing.models import Commission
from studio.api.acts import act, answer
from studio.api.fields import DayField
from studio.api.viewsets import StudioViewSet


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
    ready = serializers.SerializerMethodField()

    def get_ready(self, day: Day) -> list[int]:
        return [one.number for one in day.ready]


class ScheduleOut(serializers.Serializer):
    """All accepted work in the order it is planned, by commission and by day."""

    rack_places = serializers.IntegerField()
    works = PlannedWorkOut(many=True)
    days = LoadOut(many=True)
    not_planned = serializers.SerializerMethodField()

    @extend_schema_field(NotPlannedOut(many=True))
    def get_not_planned(self, planned: Plan) -> list[dict[str, object]]:
        return [{"commission": one.number, "why": why} for one, why in planned.problems.items()]


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


class WhatIfAsked(serializers.Serializer):
    """The day that would be promised; none for no promise."""

    promised_on = DayField(required=False, allow_null=True)


class EarliestOut(serializers.Serializer):
    """The commission as it is planned; null with nothing left to do."""

    planned = PlannedWorkOut(allow_null=True)


class Schedule(StudioViewSet):
    """The schedule of all accepted work."""

    @answer(ScheduleOut, on_row=False)
    def read(self) -> Plan:
        """Read when all accepted work can be ready, step by step and day by day."""
        return plan(self.studio)


class Promises(StudioViewSet):
    """The days that commissions are promised for."""

    model, out = Commission, CommissionOut
    lookup_field = "number"

    def rows(self) -> QuerySet[Commission]:
        return commissions_of(self.studio)

    @act(PromiseIn)
    def promise(self, commission: Commission, promised_on: date | None) -> Commission:
        """Promise the commission for a day, move the promise, or take it back with null."""
        return promise_day(commission=commission, by=self.request.user, on=promised_on)

    @answer(EarliestOut, path="promise/earliest")
    def earliest_promise(self, commission: Commission) -> dict[str, PlannedWork | None]:
        """Read the earliest honest promise, or the day as planned."""
        return {"planned": earliest_promise(commission)}

    @answer(WhatIfOut, path="promise/what-if", parameters=(WhatIfAsked,))
    def what_if(self, commission: Commission) -> WhatIf:
        """See what promising a day would move, and change nothing."""
        return what_if(commission, self.checked_query(WhatIfAsked).get("promised_on"))
