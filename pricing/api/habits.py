"""How the studio really works each technique: what prices are made with."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from pricing.costing.habits import habits_of
from studio.api.schema import pages_of
from studio.api.views import StudioView


class HabitStepOut(serializers.Serializer):
    """Minutes of one step: once a session, and again for each piece."""

    step = serializers.CharField()
    fixed_minutes = serializers.DecimalField(8, 2)
    minutes_each = serializers.DecimalField(8, 2)


class HabitOut(serializers.Serializer):
    """A technique's figures as they are in use, and from how many pieces they were learned."""

    technique = serializers.IntegerField()
    name = serializers.CharField()
    success_rate = serializers.DecimalField(6, 4)
    pieces = serializers.IntegerField()
    good = serializers.IntegerField()
    steps = HabitStepOut(many=True)


class HabitsEndpoint(StudioView):
    """The techniques as this studio works them."""

    @extend_schema(operation_id="habits_list", responses=pages_of(HabitOut))
    def get(self, request):
        """List each technique's share of good pieces and minutes, set and learned."""
        habits = habits_of(request.studio)
        rows = [
            {
                "technique": one.pk,
                "name": one.name,
                "success_rate": habits[one.pk].success_rate,
                "pieces": habits[one.pk].pieces,
                "good": habits[one.pk].good,
                "steps": [
                    {"step": step, "fixed_minutes": once, "minutes_each": each}
                    for step, (once, each) in habits[one.pk].steps.items()
                ],
            }
            for one in request.studio.techniques.all()
        ]
        return self.paginated(rows, HabitOut)
