"""Forecast against actual, and how many break even."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers

from pricing.api.profit import ProfitOut
from pricing.costing.api.costs import value
from pricing.earnings.break_even import break_even
from pricing.earnings.hindsight import hindsight
from studio.api.rows import asked_number
from studio.api.schema import pages_of
from studio.api.views import StudioView


class HindsightOut(serializers.Serializer):
    """What a quote counted on, what came of it, and the profit beyond it."""

    commission = serializers.IntegerField(source="commission.number")
    title = serializers.CharField(source="commission.title")
    forecast, actual = ProfitOut(), ProfitOut()
    difference = value()


class BreakEvenOut(serializers.Serializer):
    """How many a month earn the fixed costs back; with a ``problem`` there is no such number."""

    name = serializers.CharField()
    product = serializers.IntegerField(source="product.pk", allow_null=True, default=None)
    count = serializers.IntegerField(allow_null=True)
    minutes = serializers.DecimalField(12, 0, allow_null=True)
    kept, materials, contribution = (
        serializers.DecimalField(18, 6, allow_null=True, rounding="ROUND_HALF_UP") for _ in range(3)
    )
    problem = serializers.CharField()


class HindsightEndpoint(StudioView):
    """Forecast and actual."""

    @extend_schema(operation_id="hindsight_list", responses=pages_of(HindsightOut))
    def get(self, request):
        """List the commissions of which everything is sold: what was counted on, what it was."""
        return self.paginated(hindsight(request.studio), HindsightOut)


class BreakEvenEndpoint(StudioView):
    """Break-even."""

    @extend_schema(
        operation_id="break_even_list",
        parameters=[OpenApiParameter("channel", int, description="Where they would be sold.")],
        responses=pages_of(BreakEvenOut),
    )
    def get(self, request):
        """List how many of each product earn back a month's fixed costs, as set."""
        studio, channel = request.studio, None
        if (pk := asked_number(request, "channel")) is not None:
            channel = get_object_or_404(studio.channels, pk=pk)
        return self.paginated(break_even(studio, studio.monthly_costs, channel), BreakEvenOut)
