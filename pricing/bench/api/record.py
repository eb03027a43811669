"""How good the estimates are: what was forecast before each pour beside what it took."""

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from pricing.bench import record as records
from pricing.bench.record import record
from pricing.models import PourLayer
from studio.api.acts import answer
from studio.api.viewsets import StudioViewSet


class LayerRecordOut(serializers.Serializer):
    """One layer of one pour over all its pieces; ``scaled_ml`` is what plain area scaling says."""

    pour = serializers.IntegerField(source="pour.number")
    technique = serializers.CharField(source="pour.technique.slug")
    layer = serializers.CharField(source="layer.layer")
    low_ml = serializers.DecimalField(14, 3)
    median_ml = serializers.DecimalField(14, 3)
    high_ml = serializers.DecimalField(14, 3)
    poured_ml = serializers.DecimalField(14, 3)
    scaled_ml = serializers.DecimalField(14, 3, allow_null=True)
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


class RecordAsked(serializers.Serializer):
    """Only the studio's last so many pours."""

    last = serializers.IntegerField(min_value=0, required=False)


class Record(StudioViewSet):
    """The forecasts of the studio's own pours beside what was poured, newest first."""

    model, out = PourLayer, LayerRecordOut

    def list(self, request: Request) -> Response:
        return self.listed(record(self.studio, **self.asked_by(RecordAsked)).layers)

    vars(list)["parameters"] = (RecordAsked,)

    @answer(ScoresOut, on_row=False, parameters=(RecordAsked,))
    def scores(self) -> records.Record:
        """Score the forecasts beside two plain rules."""
        return record(self.studio, **self.asked_by(RecordAsked))
