"""What to ask for something, with what it leaves."""

from decimal import ROUND_HALF_UP
from typing import ClassVar

from rest_framework import serializers

from pricing.costing.api.costs import money, value
from studio.api.rows import Sighted
from studio.sight import COSTS, PROFIT


def ratio(source: str) -> serializers.DecimalField:
    """A share; none where there is nothing to divide by."""
    return serializers.DecimalField(12, 4, source=source, allow_null=True, rounding=ROUND_HALF_UP)


class AskingOut(Sighted):
    """What to ask for one of ``together`` that are made in one session, as the customer reads it.

    ``profit`` is what one leaves when its materials are bought anew, which the price rests on, and
    ``forecast`` when they come off the shelf. ``margin`` and ``markup`` are the first as shares of
    the price before tax and of the cost. ``channel`` is the one whose fees are in the price;
    ``guesses`` says what of success and minutes has no source yet. ``unknown`` names the materials
    whose price nobody has given, and ``unknown_share`` is the share of the price that rests on what
    was taken for them; those ``left_out`` are not in it at all.
    """

    sights: ClassVar = {
        "cost": COSTS,
        **dict.fromkeys(("profit", "forecast", "margin", "markup"), PROFIT),
    }

    together = serializers.IntegerField(source="asking.count")
    asked = money(source="asking.each")
    cost, profit = value(source="asking.cost_each"), value(source="asking.profit_each")
    forecast = value(source="forecast_each", allow_null=True)
    margin, markup = ratio("asking.offer.margin"), ratio("asking.offer.markup")
    channel = serializers.IntegerField(source="asking.channel.pk", allow_null=True, default=None)
    without_surface = serializers.BooleanField()
    guesses = serializers.ListField(child=serializers.CharField(), source="asking.guesses")
    unknown = serializers.ListField(child=serializers.CharField(), source="asking.unknown_names")
    left_out = serializers.ListField(child=serializers.CharField(), source="asking.left_out")
    unknown_share = ratio("asking.unknown_share")
