"""Sales: sets sold together through one channel, and refunds."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.api.catalogue import ChannelName, CustomerName
from pricing.api.commissions import CommissionView
from pricing.models import Channel, Commission, Customer, Payment, PieceSet, Sale, SaleLine
from pricing.selling.sales import prices_quoted, refund, sell
from studio.api.fields import DayField, MoneyField
from studio.api.rows import OwnId, OwnNumber, asked
from studio.api.schema import pages_of
from studio.api.views import StudioView


class SaleLineOut(serializers.ModelSerializer):
    """One set by its number, and the price paid for it, tax included."""

    set = serializers.IntegerField(source="piece_set.number")
    name = serializers.CharField(source="piece_set.name")

    class Meta:
        model = SaleLine
        fields = ["set", "name", "price", "is_live"]
        read_only_fields = fields


class SaleOut(serializers.ModelSerializer):
    """Sets sold together; a sale is named by its number."""

    channel = ChannelName()
    customer = CustomerName(allow_null=True)
    commission = serializers.IntegerField(source="commission.number", allow_null=True, default=None)
    lines = SaleLineOut(many=True)

    class Meta:
        model = Sale
        fields = [
            "number",
            "channel",
            "customer",
            "commission",
            "sold_on",
            "shipping_charged",
            "shipping_paid",
            "fees",
            "tax_rate",
            "refunded_at",
            "refund_note",
            "fees_kept",
            "lines",
        ]
        read_only_fields = fields


class SaleItemIn(serializers.Serializer):
    """A set by its number, and the price paid for it, tax included."""

    set = OwnNumber(queryset=PieceSet.objects)
    price = MoneyField()


class SaleIn(serializers.Serializer):
    """Sets and their prices; a commission by its number, where it was made to order."""

    channel = OwnId(queryset=Channel.objects)
    sold_on = DayField(required=False)
    items = SaleItemIn(many=True, allow_empty=False, max_length=100)
    shipping_charged = MoneyField(required=False)
    shipping_paid = MoneyField(required=False)
    customer = OwnId(queryset=Customer.objects, required=False, allow_null=True)
    commission = OwnNumber(queryset=Commission.objects, required=False, allow_null=True)
    how = serializers.ChoiceField(choices=Payment.How.choices, required=False)
    pays_later = serializers.BooleanField(
        required=False, help_text="A commission's sale that is not paid for yet."
    )


class RefundIn(serializers.Serializer):
    """Why, what the channel keeps of its fees, and whether the sets came back."""

    why = serializers.CharField(max_length=200)
    fees_kept = MoneyField(required=False)
    returned = serializers.BooleanField(default=True)


class SetPriceOut(serializers.Serializer):
    """An unsold set of a commission, and its share of the accepted quote."""

    set = serializers.IntegerField(source="set.number")
    name = serializers.CharField(source="set.name")
    price = serializers.DecimalField(12, 3)


def sales_of(studio):
    """Return the sales of a studio with their sets, ready to be written out."""
    rows = studio.sales.select_related("channel", "customer", "commission", "studio")
    return rows.with_lines()


class SaleView(StudioView):
    """An endpoint of one sale."""

    def found(self, request, number):
        """Return the sale with this number, or a 404."""
        return get_object_or_404(sales_of(request.studio), number=number)

    def answer(self, request, number, status=200):
        """Answer with the sale as it is now."""
        return Response(SaleOut(self.found(request, number)).data, status=status)


class SalesEndpoint(SaleView):
    """The sales."""

    @extend_schema(operation_id="sales_list", responses=pages_of(SaleOut))
    def get(self, request):
        """List the sales, newest first."""
        return self.paginated(sales_of(request.studio), SaleOut)

    @extend_schema(operation_id="sales_add", request=SaleIn, responses={201: SaleOut})
    def post(self, request):
        """Sell sets through a channel; its fees are worked out."""
        sent = asked(request, SaleIn).validated_data
        sent.setdefault("sold_on", request.studio.today())
        items = [(one["set"], one["price"]) for one in sent.pop("items")]
        made = sell(studio=request.studio, by=request.user, items=items, **sent)
        return self.answer(request, made.number, status=201)


class SaleEndpoint(SaleView):
    """One sale."""

    @extend_schema(operation_id="sales_read", responses=SaleOut)
    def get(self, request, number):
        """Read one sale."""
        return self.answer(request, number)


class RefundEndpoint(SaleView):
    """Giving back."""

    @extend_schema(operation_id="sales_refund", request=RefundIn, responses=SaleOut)
    def post(self, request, number):
        """Give the money of a sale back; its sets are for sale again, or written off."""
        found = self.found(request, number)
        refund(sale=found, by=request.user, **asked(request, RefundIn).validated_data)
        return self.answer(request, number)


class SalePricesEndpoint(CommissionView):
    """What the customer agreed to."""

    @extend_schema(operation_id="commissions_sale_prices", responses=pages_of(SetPriceOut))
    def get(self, request, number):
        """List the unsold sets of a commission with their shares of the accepted quote."""
        agreed = prices_quoted(self.found(request, number))
        rows = [{"set": one, "price": price} for one, price in agreed]
        return self.paginated(rows, SetPriceOut)
