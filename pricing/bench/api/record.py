"""How good the estimates are: what was forecast before each pour beside what it took."""

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from pricing.bench.record import Scores, recorded_layers, scores
from pricing.models import PourLayer
from studio.api.acts import answer
from studio.api.viewsets import StudioViewSet


class LayerRecordOut(serializers.Serializer):
    """One layer of one pour over all its pieces; ``scaled_ml`` is what plain area scaling says."""

    pour = serializers.IntegerField(source="pour.number")
    technique = serializers.CharField(source="pour.technique.slug")
    base = serializers.CharField(source="pour.base")
    layer = serializers.CharField()
    low_ml = serializers.DecimalField(14, 3, source="forecast_low_ml")
    median_ml = serializers.DecimalField(14, 3, source="forecast_median_ml")
    high_ml = serializers.DecimalField(14, 3, source="forecast_high_ml")
    poured_ml = serializers.DecimalField(14, 3)
    scaled_ml = serializers.DecimalField(14, 3, allow_null=True)
    inside = serializers.BooleanField(source="fell_inside")
    error = serializers.FloatField(source="forecast_error")


class ScoreOut(serializers.Serializer):
    """How many forecasts, the share inside the 80 % range, and the median relative error.

    ``rules`` has the same error of each plain rule.
    """

    count = serializers.IntegerField()
    inside = serializers.FloatField(allow_null=True)
    error = serializers.FloatField(allow_null=True)
    rules = serializers.DictField(child=serializers.FloatField(allow_null=True))


class MonthScoreOut(serializers.Serializer):
    """A month, named by its first day: its layers, and its whole pours."""

    month = serializers.DateField()
    layers, pours = ScoreOut(), ScoreOut()


class ScoresOut(serializers.Serializer):
    """Scores layer by layer and of whole pours: each in all, by technique and by month."""

    overall = ScoreOut()
    by_technique = serializers.DictField(child=ScoreOut())
    totals = ScoreOut()
    totals_by_technique = serializers.DictField(child=ScoreOut())
    months = MonthScoreOut(many=True)


class RecordAsked(serializers.Serializer):
    """Only the studio's last so many pours."""

    last = serializers.IntegerField(min_value=0, max_value=1_000_000, required=False)


class RecordViewSet(StudioViewSet):
    """The forecasts of the studio's own pours beside what was poured, newest first."""

    model, out = PourLayer, LayerRecordOut

    def list(self, request: Request) -> Response:
        rows = recorded_layers(self.studio, **self.checked_query(RecordAsked))
        return self.page_response(rows.select_related("pour__technique"))

    vars(list)["parameters"] = (RecordAsked,)

    @answer(ScoresOut, on_row=False, parameters=(RecordAsked,))
    def scores(self) -> Scores:
        """Score the forecasts beside two plain rules."""
        return scores(self.studio, **self.checked_query(RecordAsked))
