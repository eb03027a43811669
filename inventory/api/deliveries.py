"""Deliveries: what arrived without an order, or was on the shelf to begin with."""

from decimal import Decimal

from django.db.models import Prefetch
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.api.bottles import BottleOut
from inventory.api.suppliers import SupplierName
from inventory.buying.purchasing import receive_delivery
from inventory.models import Bottle, Delivery, Material, Movement, Pack, Supplier
from inventory.stock import ledger as stock
from studio.api.fields import AmountField, DayField, InvoiceMoneyField, MassField, read_amount
from studio.api.rows import OwnId, asked
from studio.api.schema import pages_of
from studio.api.views import StudioView

MOST_BOTTLES = 200


class DeliveryOut(serializers.ModelSerializer):
    """What arrived in one go; amounts are in ``currency``, the invoice's own."""

    supplier = SupplierName(allow_null=True)
    order = serializers.IntegerField(source="order.number", allow_null=True, default=None)
    bottles = BottleOut(many=True)

    class Meta:
        model = Delivery
        fields = [
            "id",
            "supplier",
            "order",
            "entry",
            "received_on",
            "reference",
            "discount",
            "freight",
            "duty",
            "currency",
            "rate",
            "bottles",
        ]
        read_only_fields = fields


# What goes into a receipt as it was sent.
AS_SENT = ("pack", "expires_on", "place", "tare_g", "code", "opened_on", "capacity")
AS_SENT += ("density_g_per_ml",)


class ReceiptIn(serializers.Serializer):
    """Equal bottles of one material: what is in each, and what the invoice asks for each.

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

    def validate(self, data):
        studio = self.context["request"].studio
        data["quantity"] = read_amount(data["quantity"], data["material"], studio)
        if data.get("capacity") is not None:
            data["capacity"] = read_amount(data["capacity"], data["material"], studio)
        if data.get("code") and data["bottles"] > 1:
            raise serializers.ValidationError({"code": ["One code is for one bottle."]})
        if data.get("opened_on") and data["opened_on"] > studio.today():
            raise serializers.ValidationError({"opened_on": ["Give the day it was opened."]})
        if data.get("pack") and data["pack"].material_id != data["material"].pk:
            raise serializers.ValidationError({"pack": ["This pack is of another material."]})
        return data


class ReceiptsIn(serializers.Serializer):
    """What it cost to get here is shared over the bottles by their price.

    An invoice in another currency names it, with the rate of the day; every amount is then in it.
    """

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

    def is_foreign(self, data):
        """Whether the invoice is in another currency than the studio's."""
        own = self.context["request"].studio.currency
        return data.get("currency", own) != own

    def validate(self, data):
        if self.is_foreign(data) and "rate" not in data:
            own = self.context["request"].studio.currency
            raise serializers.ValidationError(
                {"rate": [f"Give the rate of the day: how many {own} one {data['currency']} was."]}
            )
        return data


class DeliveryIn(ReceiptsIn):
    """Bottles bought without an order; opening stock is what was there before."""

    supplier = OwnId(queryset=Supplier.objects, required=False, allow_null=True)
    is_opening_stock = serializers.BooleanField(default=False)
    receipts = ReceiptIn(many=True, allow_empty=False, max_length=50)

    def validate_receipts(self, receipts):
        if sum(one["bottles"] for one in receipts) > MOST_BOTTLES:
            raise serializers.ValidationError(f"Receive at most {MOST_BOTTLES} bottles at once.")
        return receipts


def deliveries_of(studio):
    """Return the deliveries of a studio, ready to be written out."""
    bottles = Bottle.objects.select_related("material").order_by("pk")
    rows = studio.deliveries.select_related("supplier", "order")
    return rows.prefetch_related(Prefetch("bottles", bottles))


def delivery_answer(request, delivery):
    """Answer with a delivery that was just received."""
    made = deliveries_of(request.studio).get(pk=delivery.pk)
    return Response(DeliveryOut(made).data, status=201)


def _receipts(receipts):
    """Return one `stock.Receipt` for each bottle."""
    return [
        stock.Receipt(
            material=one["material"],
            quantity=one["quantity"],
            value=one["price"],
            **{name: one[name] for name in AS_SENT if name in one},
        )
        for one in receipts
        for _ in range(one["bottles"])
    ]


class DeliveriesEndpoint(StudioView):
    """What arrived."""

    @extend_schema(operation_id="deliveries_list", responses=pages_of(DeliveryOut))
    def get(self, request):
        """List the deliveries, latest first."""
        return self.paginated(deliveries_of(request.studio), DeliveryOut)

    @extend_schema(operation_id="deliveries_add", request=DeliveryIn, responses={201: DeliveryOut})
    def post(self, request):
        """Receive bottles bought without an order, or opening stock."""
        sent = asked(request, DeliveryIn).validated_data
        kinds = Movement.Kind
        made = receive_delivery(
            studio=request.studio,
            by=request.user,
            receipts=_receipts(sent.pop("receipts")),
            kind=kinds.OPENING if sent.pop("is_opening_stock") else kinds.RECEIPT,
            **sent,
        )
        return delivery_answer(request, made)


class DeliveryEndpoint(StudioView):
    """One delivery."""

    @extend_schema(operation_id="deliveries_read", responses=DeliveryOut)
    def get(self, request, pk):
        """Read one delivery and the bottles that came of it."""
        found = get_object_or_404(deliveries_of(request.studio), pk=pk)
        return Response(DeliveryOut(found).data)
