"""What was earned: by set and in all, against what was counted on, and how many break even."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from pricing.costing.api.costs import SpentOut, minutes, value
from pricing.costing.asking import Via
from pricing.earnings import break_even as breaking_even
from pricing.earnings import profit as earnings
from pricing.earnings.break_even import break_even
from pricing.earnings.hindsight import hindsight
from pricing.earnings.losses import in_all, losses
from pricing.models import Channel, Commission, PieceSet, SaleLine
from studio.api.acts import answer, describes
from studio.api.asked import PERIOD, asked_period
from studio.api.rows import OwnId
from studio.api.viewsets import StudioViewSet
from studio.sight import COSTS, PROFIT


def ratio(digits: int, places: int) -> serializers.DecimalField:
    """A share or a rate; none where there is nothing to divide by."""
    return serializers.DecimalField(digits, places, allow_null=True, rounding=ROUND_HALF_UP)


class ProfitOut(serializers.Serializer):
    """Revenue and what went off it; ``profit`` is what is left, ``margin`` its share of the revenue
    before tax and ``markup`` of what making and sending cost; the rates are by the hour."""

    revenue, tax, fees, materials = value(), value(), value(), value()
    labour, overhead, profit = value(), value(), value()
    minutes = minutes()
    margin, markup = ratio(12, 4), ratio(12, 4)
    per_hour, earned_per_hour = ratio(18, 3), ratio(18, 3)


class SetProfitOut(serializers.Serializer):
    """One set in one sale, both by their numbers, or given back: ``day`` is when it counts."""

    set = serializers.IntegerField(source="piece_set.number")
    name = serializers.CharField(source="piece_set.name")
    sale = serializers.IntegerField(source="sale.number")
    is_refund = serializers.BooleanField()
    sold_on, day = serializers.DateField(), serializers.DateField()
    currency = serializers.CharField()
    size, technique, palette = (serializers.CharField() for _ in range(3))
    channel, customer = serializers.CharField(), serializers.CharField()
    pieces = serializers.IntegerField()
    sums = ProfitOut(source="profit")


class CutOut(serializers.Serializer):
    """All rows of one currency that share one size, technique or channel."""

    label = serializers.CharField()  # type: ignore[assignment]  # what is written out, not the serializer's own
    currency = serializers.CharField()
    sets, refunded = serializers.IntegerField(), serializers.IntegerField()
    sums = ProfitOut(source="profit")


class WhereaboutsOut(serializers.Serializer):
    """Where the cost of everything made is: sold, on the shelf, loose, or lost."""

    sold, for_sale, loose, lost, total = (SpentOut() for _ in range(5))


class CurrencyTotalOut(serializers.Serializer):
    """What was earned on sales in one currency."""

    currency = serializers.CharField()
    sums = ProfitOut()


class LostOut(serializers.Serializer):
    """What was lost in one way, in one currency, or in one month."""

    label = serializers.CharField()  # type: ignore[assignment]  # what is written out, not the serializer's own
    currency = serializers.CharField()
    cost = SpentOut()


class ProfitTotalOut(serializers.Serializer):
    """Amounts of two currencies are never added; ``whereabouts`` are in the studio's own."""

    totals = CurrencyTotalOut(many=True)
    lost = LostOut(many=True)
    whereabouts = WhereaboutsOut()


class HindsightOut(serializers.Serializer):
    """What a quote counted on, what came of it, and the profit beyond it."""

    commission = serializers.IntegerField(source="commission.number")
    title = serializers.CharField(source="commission.title")
    currency = serializers.CharField()
    forecast, actual = ProfitOut(), ProfitOut()
    difference = value()


class BreakEvenOut(serializers.Serializer):
    """How many a month earn the fixed costs back; with a ``problem`` there is no such number.

    ``price`` is what the customer reads for one: its own, or the asking price of one made by
    itself. ``guess`` says what of success and minutes has no source yet.
    """

    name = serializers.CharField()
    product = serializers.IntegerField(source="product.pk", allow_null=True, default=None)
    count = serializers.IntegerField(allow_null=True)
    minutes = minutes(allow_null=True)
    price, kept, materials, contribution = (value(allow_null=True) for _ in range(4))
    guess, problem = serializers.CharField(), serializers.CharField()


class CutsIn(serializers.Serializer):
    by = serializers.ChoiceField(earnings.CUTS, default="size")


class BreakEvenIn(serializers.Serializer):
    channel = OwnId(
        queryset=Channel.objects,
        required=False,
        help_text="The channel they would be sold through, the usual one without saying.",
    )


class ProfitViewSet(StudioViewSet):
    """What each set sold earned, newest sale first."""

    model, out = SaleLine, SetProfitOut
    sights = (PROFIT,)

    @describes(parameters=PERIOD)
    def list(self, request: Request) -> Response:
        postings = earnings.postings_of_sales(self.studio, asked_period(self))
        page = self.paginate_queryset(postings) or []
        sets = {one.line.piece_set_id for one in page if one.line}
        rows = earnings.told(page, PieceSet.objects.filter(pk__in=sets))
        return self.get_paginated_response(self.out(rows, many=True).data)

    @answer(CutOut, pages=True, on_row=False, parameters=(CutsIn, *PERIOD))
    def cuts(self) -> Sequence[earnings.Cut]:
        """List what was earned by size, technique, palette, channel, customer or month."""
        rows = earnings.set_profit(self.studio, asked_period(self))
        return earnings.cut(rows, **self.checked_query(CutsIn))

    @answer(ProfitTotalOut, on_row=False, parameters=PERIOD)
    def total(self) -> dict[str, object]:
        """What was earned and lost in all, and where the cost of everything made is now."""
        period = asked_period(self)
        postings = earnings.postings_of_sales(self.studio, period)
        own = self.studio.currency
        sums = {code: one for (code,), one in earnings.profit_by(postings, "currency").items()}
        return {
            "totals": [
                {"currency": code, "sums": sums[code]}
                for code in sorted(sums, key=lambda code: (code != own, code))
            ],
            "lost": in_all(losses(self.studio, period)),
            "whereabouts": earnings.whereabouts(self.studio),
        }


class HindsightViewSet(StudioViewSet):
    """The commissions of which everything is sold: what was counted on, what it was."""

    model, out = Commission, HindsightOut
    sights = (PROFIT,)

    @describes(parameters=PERIOD)
    def list(self, request: Request) -> Response:
        return self.page_response(hindsight(self.studio, asked_period(self)))


class BreakEvenViewSet(StudioViewSet):
    """How many of each product earn back a month's fixed costs, as set."""

    @answer(
        BreakEvenOut,
        pages=True,
        on_row=False,
        parameters=(BreakEvenIn,),
        sights=(COSTS, PROFIT),
    )
    def ask(self) -> list[breaking_even.BreakEven]:
        """List how many of each product earn back a month's fixed costs, as set."""
        channel = self.checked_query(BreakEvenIn).get("channel", Via.USUAL)
        return break_even(self.studio, self.studio.monthly_costs, channel)
