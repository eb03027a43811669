"""Sales: sets sold together through one channel, and refunds."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from pricing.costing.api.names import ChannelName, CustomerName
from pricing.models import Channel, Commission, Customer, Payment, PieceSet, Sale, SaleLine
from pricing.readiness.api.reasons import reason_in
from pricing.selling import sales as selling
from studio.api.acts import act, answer
from studio.api.asked import Filters, IdFilter
from studio.api.fields import DayField, OwnMoneyField
from studio.api.rows import OwnId, OwnNumber, RowOut
from studio.api.serializers import WhyIn
from studio.api.viewsets import Added, Listed, Read, StudioViewSet
from studio.models import Studio
from studio.sight import PRICES


class SaleLineOut(RowOut):
    """One set by its number, and the price paid for it, tax included."""

    set = serializers.IntegerField(source="piece_set.number")
    name = serializers.CharField(source="piece_set.name")

    class Meta:
        model = SaleLine
        fields = read_only_fields = ("set", "name", "price", "is_live")


class SaleOut(RowOut):
    """Sets sold together; a sale is named by its number."""

    channel = ChannelName()
    customer = CustomerName(allow_null=True)
    commission = serializers.IntegerField(source="commission.number", allow_null=True, default=None)
    lines = SaleLineOut(many=True)

    class Meta:
        model = Sale
        fields = read_only_fields = (
            *("number", "channel", "customer", "commission", "sold_on", "booked_on"),
            *("currency", "shipping_charged", "shipping_paid", "fees", "tax_rate"),
            *("tax_inclusive", "refunded_at", "refunded_on", "refund_booked_on"),
            *("refund_note", "fees_kept", "lines"),
        )


class SaleMoneyField(OwnMoneyField):
    """An amount in the currency of the ``commission`` that the same request names, or the studio's.

    It is asked for once a request.
    """

    @property
    def currency(self) -> str:
        root: Any = self.root
        if not hasattr(root, "its_currency"):
            number = (getattr(root, "initial_data", None) or {}).get("commission")
            row: Commission | Studio | None = None
            if isinstance(number, int) and not isinstance(number, bool):
                row = self.studio.commissions.filter(number=number).first()
            root.its_currency = (row or self.studio).currency
        return root.its_currency


class PricedSetIn(serializers.Serializer):
    """A set by its number, and its price, tax included."""

    set = OwnNumber(queryset=PieceSet.objects)
    price = SaleMoneyField()


class SaleIn(serializers.Serializer):
    """Sets and their prices; a commission by its number, where it was made to order.

    Shipping of which nothing is said is what the commission's accepted quote says, else nothing.
    """

    channel = OwnId(queryset=Channel.objects)
    sold_on = DayField(required=False)
    items: serializers.ListSerializer = serializers.ListSerializer(
        child=PricedSetIn(), allow_empty=False, max_length=100
    )
    shipping_charged = SaleMoneyField(required=False)
    shipping_paid = SaleMoneyField(required=False)
    customer = OwnId(queryset=Customer.objects, required=False, allow_null=True)
    commission = OwnNumber(queryset=Commission.objects, required=False, allow_null=True)
    how = serializers.ChoiceField(choices=Payment.How.choices, required=False)
    pays_later = serializers.BooleanField(
        required=False, help_text="A commission's sale that is not paid for yet."
    )
    reason = reason_in()


class RefundIn(WhyIn):
    """Why, what the channel keeps of its fees, whether the sets came back, and the day; today."""

    fees_kept = OwnMoneyField(required=False)
    returned = serializers.BooleanField(default=True)
    refunded_on = DayField(required=False)


class SetPriceOut(serializers.Serializer):
    """An unsold set of a commission, and its share of the accepted quote."""

    set = serializers.IntegerField(source="set.number")
    name = serializers.CharField(source="set.name")
    currency = serializers.CharField()
    price = serializers.DecimalField(12, 3)


class SaleFilters(Filters):
    channel, customer = IdFilter(), IdFilter()
    commission = IdFilter("commission__number", label="The commission's number.")


class Sales(Listed, Read, Added):
    """The sales, newest first."""

    model, out, takes = Sale, SaleOut, SaleIn
    sights = (PRICES,)
    dated_by = "booked_on"
    lookup_field = "number"
    filterset_class = SaleFilters
    sort_fields = ("number", "sold_on")
    changed_by = ("changed_at", "lines__changed_at")

    def rows(self) -> QuerySet[Sale]:
        rows = self.studio.sales.select_related("channel", "customer", "commission", "studio")
        return rows.with_lines()

    def add(self, items: list[dict[str, Any]], **sent: Any) -> Sale:
        """Sell sets through a channel; its fees are worked out."""
        sent.setdefault("sold_on", self.studio.today())
        priced = [(one["set"], one["price"]) for one in items]
        return selling.sell(studio=self.studio, by=self.request.user, items=priced, **sent)

    @act(RefundIn)
    def refund(self, sale: Sale, **sent: Any) -> Sale:
        """Give the money of a sale back; its sets are for sale again, or written off."""
        return selling.refund(sale=sale, by=self.request.user, **sent)


class SalePrices(StudioViewSet):
    """What customers agreed to."""

    model = Commission
    sights = (PRICES,)
    lookup_field = "number"

    def rows(self) -> QuerySet[Commission]:
        return self.studio.commissions.all()

    @answer(SetPriceOut, pages=True)
    def sale_prices(self, commission: Commission) -> list[dict[str, object]]:
        """List the unsold sets of a commission with their shares of the accepted quote."""
        currency = commission.currency
        return [
            {"set": one, "currency": currency, "price": price}
            for one, price in selling.prices_quoted(commission)
        ]
