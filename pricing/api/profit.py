"""What was earned: each set sold, the same rows cut, and where the cost of everything made is."""

from decimal import ROUND_HALF_UP

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.costing.api.costs import SpentOut, minutes, value
from pricing.earnings import profit as earnings
from studio.api.schema import pages_of
from studio.api.views import StudioView


def ratio(digits, places):
    """A share or a rate; none where there is nothing to divide by."""
    return serializers.DecimalField(digits, places, allow_null=True, rounding=ROUND_HALF_UP)


class ProfitOut(serializers.Serializer):
    """Revenue and what went off it; ``profit`` is what is left, and the rates are by the hour."""

    revenue, tax, fees, materials = value(), value(), value(), value()
    labour, overhead, profit = value(), value(), value()
    minutes = minutes()
    margin = ratio(12, 4)
    per_hour, earned_per_hour = ratio(18, 3), ratio(18, 3)


class SetProfitOut(serializers.Serializer):
    """One set in one sale, both by their numbers."""

    set = serializers.IntegerField(source="piece_set.number")
    name = serializers.CharField(source="piece_set.name")
    sale = serializers.IntegerField(source="sale.number")
    sold_on = serializers.DateField()
    size, technique, palette = (serializers.CharField() for _ in range(3))
    channel, customer = serializers.CharField(), serializers.CharField()
    pieces = serializers.IntegerField()
    sums = ProfitOut(source="profit")


class CutOut(serializers.Serializer):
    """All sets that share one size, technique or channel."""

    label = serializers.CharField()
    sets = serializers.IntegerField()
    sums = ProfitOut(source="profit")


class WhereaboutsOut(serializers.Serializer):
    """Where the cost of everything made is: sold, on the shelf, loose, or lost."""

    sold, for_sale, loose, lost, total = (SpentOut() for _ in range(5))


class ProfitTotalOut(serializers.Serializer):
    total = ProfitOut()
    whereabouts = WhereaboutsOut()


class ProfitEndpoint(StudioView):
    """Profit by set."""

    @extend_schema(operation_id="profit_list", responses=pages_of(SetProfitOut))
    def get(self, request):
        """List what each set sold earned, newest sale first."""
        return self.paginated(earnings.set_profit(request.studio), SetProfitOut)


class ProfitCutsEndpoint(StudioView):
    """Profit by what sets have in common."""

    @extend_schema(
        operation_id="profit_cuts",
        parameters=[OpenApiParameter("by", str, enum=earnings.CUTS, default="size")],
        responses=pages_of(CutOut),
    )
    def get(self, request):
        """List what was earned by size, technique, palette, channel, customer or month."""
        by = request.query_params.get("by", "size")
        if by not in earnings.CUTS:
            words = f"Cut by one of {', '.join(earnings.CUTS)}."
            raise serializers.ValidationError({"by": [words]}, code="invalid_choice")
        return self.paginated(earnings.cut(earnings.set_profit(request.studio), by), CutOut)


class ProfitTotalEndpoint(StudioView):
    """Profit in all."""

    @extend_schema(operation_id="profit_total", responses=ProfitTotalOut)
    def get(self, request):
        """What was earned in all, and where the cost of everything made is."""
        sums = {
            "total": earnings.total(earnings.set_profit(request.studio)),
            "whereabouts": earnings.whereabouts(request.studio),
        }
        return Response(ProfitTotalOut(sums).data)
