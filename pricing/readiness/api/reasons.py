"""Reasons to go on with an act before its time: taken with it, and read."""

from decimal import Decimal

from django.db.models import QuerySet
from django_filters import rest_framework as filters
from rest_framework import serializers

from pricing.models import GoneOn
from pricing.models.fields import LEAST_ROOM_C, MOST_ROOM_C
from pricing.models.gone_on import MOST_REASON
from studio.api.asked import Filters, IdFilter
from studio.api.rows import RowOut
from studio.api.viewsets import Listed, Read


def reason_in() -> serializers.CharField:
    """Why an act goes on; needed where it is refused with ``reason_needed``."""
    return serializers.CharField(
        max_length=MOST_REASON,
        required=False,
        allow_blank=True,
        help_text="Why it goes on though something speaks against it, as `reason_needed` says.",
    )


def room_in() -> serializers.DecimalField:
    """The temperature of the room, in °C."""
    return serializers.DecimalField(
        4, 1, min_value=LEAST_ROOM_C, max_value=MOST_ROOM_C, required=False, allow_null=True
    )


def humidity_in() -> serializers.DecimalField:
    """The relative humidity of the room, in percent."""
    return serializers.DecimalField(
        4, 1, min_value=Decimal(0), max_value=Decimal(100), required=False, allow_null=True
    )


class GoneOnOut(RowOut):
    """An act that went on though something spoke against it: what was said, and the reason.

    What it is about is named as everywhere, most of it by numbers; the others are null.
    """

    said = serializers.ListField(source="sentences", child=serializers.CharField())
    by = serializers.CharField(source="by.username", allow_null=True, default=None)
    commission = serializers.IntegerField(source="commission.number", allow_null=True, default=None)
    line = serializers.IntegerField(source="line_id", allow_null=True, help_text="Its id.")
    quote = serializers.IntegerField(source="quote_id", allow_null=True, help_text="Its id.")
    product = serializers.IntegerField(source="product_id", allow_null=True, help_text="Its id.")
    pour = serializers.IntegerField(source="pour.number", allow_null=True, default=None)
    topcoating = serializers.IntegerField(
        source="topcoating_id", allow_null=True, help_text="Its id."
    )
    set = serializers.IntegerField(source="piece_set.number", allow_null=True, default=None)
    sale = serializers.IntegerField(source="sale.number", allow_null=True, default=None)
    consignment = serializers.IntegerField(
        source="consignment.number", allow_null=True, default=None
    )

    class Meta:
        model = GoneOn
        fields = read_only_fields = (
            *("id", "act", "said", "reason", "by", "at", "commission", "line", "quote"),
            *("product", "pour", "topcoating", "set", "sale", "consignment"),
        )


class GoneOnFilters(Filters):
    act = filters.ChoiceFilter(choices=GoneOn.Act.choices)
    line = IdFilter(label="The id of a commission's line.")
    quote = IdFilter(label="The id of a quote.")
    product = IdFilter(label="The id of a product.")
    pour = IdFilter("pour__number", label="The number of a pour.")
    topcoating = IdFilter(label="The id of a topcoat.")
    set = IdFilter("piece_set__number", label="The number of a set.")
    sale = IdFilter("sale__number", label="The number of a sale.")
    consignment = IdFilter("consignment__number", label="The number of a consignment.")
    commission = IdFilter("commission__number", label="The number of a commission.")


class GoneOnRows(Listed, Read):
    """What went on before its time, newest first."""

    model, out = GoneOn, GoneOnOut
    dated_by = "at"
    filterset_class = GoneOnFilters

    def rows(self) -> QuerySet[GoneOn]:
        named = ("commission", "pour", "piece_set", "sale", "consignment", "by")
        return self.studio.gone_on.select_related(*named)
