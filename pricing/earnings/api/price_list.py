"""The price list by size."""

from functools import partial
from typing import Any

from rest_framework import serializers

from pricing.costing.api.costs import money
from pricing.earnings.price_list import PriceList, price_list
from pricing.models import Palette, ResinKit, Technique
from studio.api.acts import act
from studio.api.rows import OwnId, OwnSlug
from studio.api.viewsets import StudioViewSet


class PriceListIn(serializers.Serializer):
    """A technique by its slug and a palette, resin or none, and how many are made together."""

    technique = OwnSlug(queryset=Technique.objects)
    palette = OwnId(queryset=Palette.objects.select_related("studio"))
    topcoat = OwnId(
        queryset=ResinKit.objects.select_related("resin", "hardener"),
        required=False,
        allow_null=True,
    )
    together = serializers.IntegerField(min_value=1, max_value=24, required=False)


price = partial(money, allow_null=True, rounding="ROUND_HALF_UP")


class SizedOut(serializers.Serializer):
    """One size; prices as the customer reads them, and in which of them money is lost."""

    surface = serializers.IntegerField(source="surface.pk")
    name = serializers.CharField(source="surface.name")
    area_in2 = serializers.DecimalField(12, 1)
    united_in = serializers.DecimalField(12, 1)
    cost, asked, profit, by_area, by_united, own = (price() for _ in range(6))
    losing = serializers.ListField(child=serializers.CharField())
    problem = serializers.CharField()


class PriceListOut(serializers.Serializer):
    """The list with the rates of both rules; ``own_prices`` is how many of the studio's own prices
    they are fitted to, the list's own if none."""

    area_rate = serializers.DecimalField(12, 4, allow_null=True)
    united_rate = serializers.DecimalField(12, 4, allow_null=True)
    own_prices = serializers.IntegerField()
    rows = SizedOut(many=True)


class PriceLists(StudioViewSet):
    """Prices by size."""

    @act(PriceListIn, gives=PriceListOut, on_row=False)
    def ask(self, **wanted: Any) -> PriceList:
        """Work out a price for each size from its cost, beside the rules by the inch."""
        return price_list(self.studio, **wanted)
