"""How good the estimates are: what was forecast before each pour beside what it took."""

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.bench.record import record
from studio.api.rows import asked_number
from studio.api.schema import pages_of
from studio.api.views import StudioView

LAST = OpenApiParameter("last", int, description="Only the studio's last so many pours.")


class LayerRecordOut(serializers.Serializer):
    """One layer of one pour over all its pieces; ``scaled_ml`` is what plain area scaling says."""

    pour = serializers.IntegerField(source="pour.number")
    technique = serializers.CharField(source="pour.technique.slug")
    layer = serializers.CharField(source="layer.layer")
    low_ml = serializers.FloatField()
    median_ml = serializers.FloatField()
    high_ml = serializers.FloatField()
    poured_ml = serializers.FloatField()
    scaled_ml = serializers.FloatField(allow_null=True)
    inside = serializers.BooleanField()
    error = serializers.FloatField()


class ScoreOut(serializers.Serializer):
    """How many forecasts, the share inside the 80 % range, and the median relative error.

    ``rules`` has the same error of each plain rule.
    """

    count = serializers.IntegerField()
    inside = serializers.FloatField(allow_null=True)
    error = serializers.FloatField(allow_null=True)
    rules = serializers.DictField(child=serializers.FloatField(allow_null=True))


class ScoresOut(serializers.Serializer):
    """Scores layer by layer and of whole pours, each in all and by technique."""

    overall = ScoreOut()
    by_technique = serializers.DictField(child=ScoreOut())
    totals = ScoreOut()
    totals_by_technique = serializers.DictField(child=ScoreOut())


def _record(request):
    return record(request.studio, last=asked_number(request, "last"))


class RecordEndpoint(StudioView):
    """Forecasts and what became of them."""

    @extend_schema(
        operation_id="record_list", parameters=[LAST], responses=pages_of(LayerRecordOut)
    )
    def get(self, request):
        """List the forecasts of the studio's own pours beside what was poured, newest first."""
        return self.paginated(_record(request).layers, LayerRecordOut)


class RecordScoresEndpoint(StudioView):
    """How far to trust the estimates."""

    @extend_schema(operation_id="record_scores", parameters=[LAST], responses=ScoresOut)
    def get(self, request):
        """Score the forecasts beside two plain rules."""
        return Response(ScoresOut(_record(request)).data)
