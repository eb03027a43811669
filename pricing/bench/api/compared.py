"""What goes with pours that came out well, as the API answers it."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from pricing.bench.compared import Compared, Example


class DifferenceOut(serializers.Serializer):
    """How much better the first side came out, as a share of one, with its 80 % range."""

    middle = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()
    is_told = serializers.BooleanField()


class SideOut(serializers.Serializer):
    """One band: its pours, on how many days, and their judged and good pieces."""

    band = serializers.CharField()
    pours = serializers.IntegerField()
    days = serializers.IntegerField()
    good = serializers.IntegerField()
    judged = serializers.IntegerField()
    rating = serializers.FloatField(allow_null=True)


class ComparedAnswerOut(serializers.Serializer):
    """One question: its two sides, then other bands.

    Estimates are null until there are three pours a side on two days.
    """

    question = serializers.CharField(source="question.name")
    bands = SideOut(many=True)
    unknown = serializers.IntegerField()
    good = DifferenceOut(allow_null=True)
    rated = DifferenceOut(allow_null=True)


class DifferedOut(serializers.Serializer):
    """What was done otherwise, in words."""

    what = serializers.CharField()
    best = serializers.CharField()
    worst = serializers.CharField()


class ComparedOut(serializers.Serializer):
    """The judged pours of one technique, palette and size; ``best`` and ``worst`` have a picture.

    Past pours prove nothing: what goes with good pieces need not have made them good.
    """

    pours = serializers.SerializerMethodField()
    unjudged = serializers.IntegerField()
    best = serializers.SerializerMethodField()
    worst = serializers.SerializerMethodField()
    differed = serializers.SerializerMethodField()
    not_recorded = serializers.ListField(child=serializers.CharField(), source="unknown")
    answers = ComparedAnswerOut(many=True)

    def get_pours(self, known: Compared) -> list[int]:
        return [one.number for one in known.seen]

    def get_best(self, known: Compared) -> int | None:
        return _number(known.best)

    def get_worst(self, known: Compared) -> int | None:
        return _number(known.worst)

    @extend_schema_field(DifferedOut(many=True))
    def get_differed(self, known: Compared) -> list[dict[str, Any]]:
        return [dict(zip(("what", "best", "worst"), row, strict=True)) for row in known.differed]


def _number(example: Example | None) -> int | None:
    return example.pour.number if example else None
