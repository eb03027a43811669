"""What was earned: by set and in all, against what was counted on, and how many break even."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from pricing.costing.api.costs import SpentOut, minutes, value
from pricing.earnings import break_even as breaking_even
from pricing.earnings import profit as earnings
from pricing.earnings.break_even import break_even
from pricing.earnings.hindsight import hindsight
from pricing.models import Channel, Commission, SaleLine
from studio.api.acts import answer
from studio.api.rows import OwnId
from studio.api.viewsets import StudioViewSet


def ratio(digits: int, places: int) -> serializers.DecimalField:
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

    label = serializers.CharField()  # type: ignore[assignment]  # what is written out, not the serializer's own
    sets = serializers.IntegerField()
    sums = ProfitOut(source="profit")


class WhereaboutsOut(serializers.Serializer):
    """Where the cost of everything made is: sold, on the shelf, loose, or lost."""

    sold, for_sale, loose, lost, total = (SpentOut() for _ in range(5))


class ProfitTotalOut(serializers.Serializer):
    total = ProfitOut()
    whereabouts = WhereaboutsOut()


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
    minutes = minutes(allow_null=True)
    kept, materials, contribution = (value(allow_null=True) for _ in range(3))
    problem = serializers.CharField()


class CutsIn(serializers.Serializer):
    by = serializers.ChoiceField(earnings.CUTS, default="size")


class BreakEvenIn(serializers.Serializer):
    channel = OwnId(
        queryset=Channel.objects, default=None, help_text="The channel they would be sold through."
    )


class Profit(StudioViewSet):
    """What each set sold earned, newest sale first."""

    model, out = SaleLine, SetProfitOut

    def list(self, request: Request) -> Response:
        return self.listed(earnings.set_profit(self.studio))

    @answer(CutOut, pages=True, on_row=False, parameters=(CutsIn,))
    def cuts(self) -> Sequence[earnings.Cut]:
        """List what was earned by size, technique, palette, channel, customer or month."""
        return earnings.cut(earnings.set_profit(self.studio), **self.asked_by(CutsIn))

    @answer(ProfitTotalOut, on_row=False)
    def total(self) -> dict[str, object]:
        """What was earned in all, and where the cost of everything made is."""
        return {
            "total": earnings.total(earnings.set_profit(self.studio)),
            "whereabouts": earnings.whereabouts(self.studio),
        }


class Hindsight(StudioViewSet):
    """The commissions of which everything is sold: what was counted on, what it was."""

    model, out = Commission, HindsightOut

    def list(self, request: Request) -> Response:
        return self.listed(hindsight(self.studio))


class BreakEven(StudioViewSet):
    """How many of each product earn back a month's fixed costs, as set."""

    @answer(BreakEvenOut, pages=True, on_row=False, parameters=(BreakEvenIn,))
    def ask(self) -> list[breaking_even.BreakEven]:
        """List how many of each product earn back a month's fixed costs, as set."""
        channel = self.asked_by(BreakEvenIn)["channel"]
        return break_even(self.studio, self.studio.monthly_costs, channel)
