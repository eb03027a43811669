"""What a commission takes, and what of it is short."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from inventory.supplies.api.materials import MaterialName, number
from pricing.estimating.answers import CommissionEstimate
from pricing.estimating.api.estimates import EstimateOut, NeedsField, OneBatchOut
from pricing.estimating.batches import for_lines


class LineEstimateOut(serializers.Serializer):
    """What one line takes: its pieces, and what they are poured on and packed in."""

    line = serializers.IntegerField(source="line.pk")
    description = serializers.CharField(source="line.description")
    estimate = EstimateOut(source="piece")
    surface, packaging = NeedsField(), NeedsField()


class CommissionEstimateOut(serializers.Serializer):
    """What a commission takes, line by line and in all."""

    lines = LineEstimateOut(many=True)
    one_batch = serializers.SerializerMethodField()
    needs = NeedsField()
    warnings = serializers.ListField(child=serializers.CharField())
    outside_measured = serializers.BooleanField()

    @extend_schema_field(OneBatchOut(allow_null=True))
    def get_one_batch(self, estimate: CommissionEstimate) -> Any:
        found = for_lines(estimate.lines)
        return OneBatchOut(found).data if found else None


class StockLineOut(serializers.Serializer):
    """One material a commission needs beside what is there for it, in the material's unit."""

    material = MaterialName()
    needed, on_hand, held_for_others = number(), number(), number()
    available, on_order, missing = number(), number(), number()


class StockCheckOut(serializers.Serializer):
    """Every material a commission needs, what is short first."""

    lines, short = StockLineOut(many=True), StockLineOut(many=True)
