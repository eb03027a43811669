"""What a commission takes, and what of it is short."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.supplies.api.materials import MaterialName
from pricing.api.commissions import CommissionView
from pricing.commissions import orders as work
from pricing.estimating.api.estimates import EstimateOut, NeedsField
from pricing.estimating.estimates import estimate_commission


class LineEstimateOut(serializers.Serializer):
    """What one line takes: its pieces, and what they are poured on and packed in."""

    line = serializers.IntegerField(source="line.pk")
    description = serializers.CharField(source="line.description")
    estimate = EstimateOut(source="piece")
    surface, packaging = NeedsField(), NeedsField()


class CommissionEstimateOut(serializers.Serializer):
    """What a commission takes, line by line and in all."""

    lines = LineEstimateOut(many=True)
    needs = NeedsField()
    warnings = serializers.ListField(child=serializers.CharField())
    outside_measured = serializers.BooleanField()


class StockLineOut(serializers.Serializer):
    """One material a commission needs beside what is there for it, in the material's unit."""

    material = MaterialName()
    needed = serializers.DecimalField(14, 4)
    on_hand = serializers.DecimalField(14, 4)
    held_for_others = serializers.DecimalField(14, 4)
    available = serializers.DecimalField(14, 4)
    on_order = serializers.DecimalField(14, 4)
    missing = serializers.DecimalField(14, 4)


class StockCheckOut(serializers.Serializer):
    """Every material a commission needs, what is short first."""

    lines = StockLineOut(many=True)
    short = StockLineOut(many=True)


class CommissionEstimateEndpoint(CommissionView):
    """What it takes."""

    @extend_schema(operation_id="commissions_estimate", responses=CommissionEstimateOut)
    def get(self, request, number):
        """How much a commission takes, by line, layer and material."""
        made = estimate_commission(self.found(request, number))
        return Response(CommissionEstimateOut(made).data)


class StockCheckEndpoint(CommissionView):
    """What is short."""

    @extend_schema(operation_id="commissions_stock_check", responses=StockCheckOut)
    def get(self, request, number):
        """What a commission needs beside what is there for it, what is short first."""
        return Response(StockCheckOut(work.stock_check(self.found(request, number))).data)
