"""Deliveries: what arrived without an order, or was on the shelf to begin with."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch, QuerySet
from rest_framework import serializers

from inventory.buying.purchasing import receive_delivery
from inventory.models import Bottle, Delivery, Material, Movement, Pack, Supplier
from inventory.stock import ledger as stock
from inventory.stock.api.bottles import BottleOut
from inventory.supplies.api.suppliers import SupplierName
from studio.api.asked import Filters, IdFilter
from studio.api.fields import AmountField, DayField, InvoiceMoneyField, MassField, read_amount
from studio.api.rows import OwnId, RowOut, Sighted
from studio.api.viewsets import Added, Listed, Read
from studio.models import Studio
from studio.sight import COSTS

MOST_BOTTLES = 200
# What goes into a receipt as it was sent.
AS_SENT = (
    *("pack", "expires_on", "place", "tare_g", "code", "opened_on", "capacity"),
    *("density_g_per_ml",),
)


class DeliveryOut(RowOut):
    """What arrived in one go; amounts are in ``currency``, the invoice's own."""

    supplier = SupplierName(allow_null=True)
    order = serializers.IntegerField(source="order.number", allow_null=True, default=None)
    booked_on = serializers.DateField(source="entry.booked_on")
    bottles = BottleOut(many=True)
    sights = dict.fromkeys(("discount", "freight", "duty", "currency", "rate"), COSTS)

    class Meta:
        model = Delivery
        fields = read_only_fields = (
            *("id", "supplier", "order", "entry", "received_on", "booked_on", "reference"),
            *("discount", "freight", "duty", "currency", "rate", "bottles"),
        )


class ReceiptIn(serializers.Serializer):
    """Equal packs of one material: what is in each, and what the invoice asks for each.

    Each becomes a bottle; those of what is counted in whole items become one lot.

    A bottle that was in use already says when it was opened and what it holds when full; a code of
    its own is for one bottle, else it gets the next number.
    """

    material = OwnId(queryset=Material.objects)
    quantity = AmountField()
    price = InvoiceMoneyField()
    bottles = serializers.IntegerField(min_value=1, max_value=MOST_BOTTLES, default=1)
    pack = OwnId(queryset=Pack.objects, required=False, allow_null=True)
    expires_on = DayField(required=False, allow_null=True)
    place = serializers.CharField(max_length=60, required=False, allow_blank=True)
    tare_g = MassField(required=False, allow_null=True)
    code = serializers.CharField(max_length=12, required=False, allow_blank=True)
    opened_on = DayField(required=False, allow_null=True)
    capacity = AmountField(required=False, allow_null=True)
    density_g_per_ml = serializers.DecimalField(
        6, 4, min_value=Decimal("0.1"), max_value=30, required=False, allow_null=True
    )

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        studio = self.context["request"].studio
        data["quantity"] = read_amount(data["quantity"], data["material"], studio)
        if data.get("capacity") is not None:
            data["capacity"] = read_amount(data["capacity"], data["material"], studio, "capacity")
        if data.get("code") and data["bottles"] > 1:
            raise serializers.ValidationError({"code": ["One code is for one bottle."]})
        if data.get("opened_on") and data["opened_on"] > studio.today():
            raise serializers.ValidationError({"opened_on": ["Give the day it was opened."]})
        if data.get("pack") and data["pack"].material_id != data["material"].pk:
            raise serializers.ValidationError({"pack": ["This pack is of another material."]})
        return data


class ReceiptsIn(Sighted):
    """What it cost to get here is shared over the bottles by their price.

    An invoice in another currency names it, with the rate of the day; every amount is then in it.
    """

    sights = dict.fromkeys(("discount", "freight", "duty", "currency", "rate"), COSTS)

    received_on = DayField(required=False)
    freight = InvoiceMoneyField(required=False)
    duty = InvoiceMoneyField(required=False)
    discount = InvoiceMoneyField(required=False)
    currency = serializers.CharField(
        max_length=3, required=False, help_text="Of every amount here; the studio's if left out."
    )
    rate = serializers.DecimalField(
        14,
        8,
        required=False,
        min_value=Decimal("0.00000001"),
        help_text="What one of that currency was worth in the studio's, on the day.",
    )
    reference = serializers.CharField(max_length=80, required=False, allow_blank=True)

    def is_foreign(self, data: dict[str, Any]) -> bool:
        """Whether the invoice is in another currency than the studio's."""
        own = self.context["request"].studio.currency
        return data.get("currency", own) != own

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        if self.is_foreign(data) and "rate" not in data:
            own = self.context["request"].studio.currency
            raise serializers.ValidationError(
                {"rate": [f"Give the rate of the day: how many {own} one {data['currency']} was."]}
            )
        return data


class DeliveryIn(ReceiptsIn):
    """What was bought without an order; opening stock is what was there before."""

    supplier = OwnId(queryset=Supplier.objects, required=False, allow_null=True)
    is_opening_stock = serializers.BooleanField(default=False)
    receipts: serializers.ListSerializer = serializers.ListSerializer(
        child=ReceiptIn(), allow_empty=False, max_length=50
    )

    def validate_receipts(self, receipts: list[dict[str, Any]]) -> list[dict[str, Any]]:
        if sum(receipt["bottles"] for receipt in receipts) > MOST_BOTTLES:
            raise serializers.ValidationError(f"Receive at most {MOST_BOTTLES} packs at once.")
        return receipts


def deliveries_of(studio: Studio) -> QuerySet[Delivery]:
    """Return the deliveries of a studio, ready to be written out."""
    bottles = Bottle.objects.select_related("material").order_by("pk")
    rows = studio.deliveries.select_related("supplier", "order", "entry")
    return rows.prefetch_related(Prefetch("bottles", bottles))


class DeliveryFilters(Filters):
    supplier = IdFilter("supplier")

    class Meta:
        model = Delivery
        fields = ()


class Deliveries(Listed, Read, Added):
    """What arrived, latest first."""

    model, out, takes = Delivery, DeliveryOut, DeliveryIn
    dated_by = "entry__booked_on"
    filterset_class = DeliveryFilters
    search_fields = ("reference", "supplier__name")
    sort_fields = ("received_on",)
    changed_by = ("changed_at", "bottles__changed_at")
    write_sights = (COSTS,)  # without an order, what was paid must be said

    def rows(self) -> QuerySet[Delivery]:
        return deliveries_of(self.studio)

    def add(self, receipts: list[dict[str, Any]], is_opening_stock: bool, **sent: Any) -> Delivery:
        """Receive what was bought without an order, or opening stock."""
        kinds = Movement.Kind
        return receive_delivery(
            studio=self.studio,
            by=self.request.user,
            receipts=_receipts(receipts),
            kind=kinds.OPENING if is_opening_stock else kinds.RECEIPT,
            **sent,
        )


def _receipts(receipts: Iterable[dict[str, Any]]) -> list[stock.Receipt]:
    """Return one `stock.Receipt` for each bottle."""
    return [
        stock.Receipt(
            material=receipt["material"],
            quantity=receipt["quantity"],
            value=receipt["price"],
            **{name: receipt[name] for name in AS_SENT if name in receipt},
        )
        for receipt in receipts
        for _ in range(receipt["bottles"])
    ]
