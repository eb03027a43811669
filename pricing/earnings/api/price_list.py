"""The price list by size."""

from functools import partial
from typing import Any, ClassVar

from rest_framework import serializers

from pricing.costing.api.costs import money
from pricing.earnings.price_list import PriceList, price_list
from pricing.models import Palette, ResinKit, Technique
from pricing.models.technique import BASE_CHOICES
from studio.api.acts import act
from studio.api.rows import OwnId, OwnSlug, Sighted
from studio.api.viewsets import StudioViewSet
from studio.sight import COSTS, PRICES, PROFIT


class PriceListIn(serializers.Serializer):
    """A technique by its slug and a palette, resin or none, and how many are made in one go."""

    technique = OwnSlug(queryset=Technique.objects)
    base = serializers.ChoiceField(choices=BASE_CHOICES, required=False, allow_blank=True)
    palette = OwnId(queryset=Palette.objects.select_related("studio"))
    topcoat = OwnId(
        queryset=ResinKit.objects.select_related("resin", "hardener"),
        required=False,
        allow_null=True,
    )
    together = serializers.IntegerField(min_value=1, max_value=24, required=False)


price = partial(money, allow_null=True, rounding="ROUND_HALF_UP")


class SizedOut(Sighted):
    """One size; prices as the customer reads them, and in which of them money is lost.

    ``profit`` is what is left when materials are bought anew, ``forecast`` when they come off the
    shelf; ``margin`` and ``markup`` are the first as shares of the price before tax and the cost.
    """

    sights: ClassVar = {
        "cost": COSTS,
        **dict.fromkeys(("profit", "forecast", "margin", "markup", "losing"), PROFIT),
    }

    surface = serializers.IntegerField(source="surface.pk")
    name = serializers.CharField(source="surface.name")
    area_in2 = serializers.DecimalField(12, 1)
    sides_in = serializers.DecimalField(12, 1)
    cost, asked, profit, forecast, by_area, by_sides, own = (price() for _ in range(7))
    margin = serializers.DecimalField(12, 4, allow_null=True, rounding="ROUND_HALF_UP")
    markup = serializers.DecimalField(12, 4, allow_null=True, rounding="ROUND_HALF_UP")
    losing = serializers.ListField(child=serializers.CharField())
    problem = serializers.CharField()


class PriceListOut(serializers.Serializer):
    """The list with the rates of both rules. Prices are of one of ``together`` pieces that are made
    in one session; ``guesses`` says what they rest on without a source. ``own_prices`` is how
    many of the studio's own prices the rules are fitted to, the list's own if none."""

    area_rate = serializers.DecimalField(12, 4, allow_null=True)
    sides_rate = serializers.DecimalField(12, 4, allow_null=True)
    own_prices, together = serializers.IntegerField(), serializers.IntegerField()
    guesses, care = (serializers.ListField(child=serializers.CharField()) for _ in range(2))
    rows = SizedOut(many=True)


class PriceLists(StudioViewSet):
    """Prices by size."""

    @act(PriceListIn, gives=PriceListOut, on_row=False, sights=(PRICES,))
    def ask(self, **choices: Any) -> PriceList:
        """Work out a price for each size from its cost, beside the rules by the inch."""
        return price_list(self.studio, **choices)
