"""On which day each material runs out."""

from datetime import date

from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from inventory.buying.demand import levels
from inventory.buying.running_out import run_out_days
from inventory.supplies.api.materials import MaterialName
from studio.api.schema import pages_of
from studio.api.views import StudioView


class RunningOutOut(serializers.Serializer):
    """A material and the day on which it runs out; ``use_per_day`` is the usual use."""

    material = MaterialName()
    on_hand = serializers.DecimalField(14, 4, source="material.on_hand")
    held = serializers.DecimalField(14, 4, source="material.held")
    on_order = serializers.DecimalField(14, 4, source="material.on_order")
    use_per_day = serializers.FloatField(source="point.mean_per_day")
    runs_out_on = serializers.DateField()


class RunningOutEndpoint(StudioView):
    """What runs out, and when."""

    @extend_schema(operation_id="running_out_list", responses=pages_of(RunningOutOut))
    def get(self, request):
        """List what runs out within a year, soonest first: use, promises and orders counted."""
        standing = levels(request.studio)
        days = run_out_days(request.studio, standing)
        rows = [level for level in standing if days[level.material.pk]]
        rows.sort(key=lambda level: (days[level.material.pk], level.material.name))

        def dated(page):
            return [_Row(level, days[level.material.pk]) for level in page]

        return self.paginated(rows, RunningOutOut, prepare=dated)


class _Row:
    def __init__(self, level, runs_out_on: date):
        self.material, self.point, self.runs_out_on = level.material, level.point, runs_out_on
