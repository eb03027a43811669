"""Orders: drafted from the reorder plan, changed, sent, called off, received."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django.db.models import Prefetch, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from inventory.buying import papers, purchasing
from inventory.buying.api.deliveries import DeliveryOut, ReceiptsIn, deliveries_of
from inventory.models import Delivery, OrderLine, Pack, PurchaseOrder, Supplier
from inventory.supplies.api.materials import MaterialName
from inventory.supplies.api.suppliers import SupplierName
from studio.amounts import Times
from studio.api.acts import act, describes, file
from studio.api.asked import Filters, IdFilter
from studio.api.fields import InvoiceMoneyField, MoneyField
from studio.api.rows import OwnId, RowOut, Sighted
from studio.api.viewsets import Changed, Listed, Read, StudioViewSet
from studio.pdf import pdf_response
from studio.sight import COSTS, seen_by


class OrderLineOut(RowOut):
    """So many of one pack, and why; ``amount`` is what they come to."""

    material = MaterialName(source="pack.material")
    pack_label = serializers.CharField(source="pack")
    sights = dict.fromkeys(("unit_price", "amount", "why"), COSTS)
    amount = serializers.DecimalField(14, 3)

    class Meta:
        model = OrderLine
        fields = read_only_fields = (
            *("id", "material", "pack", "pack_label", "count", "received_count", "unit_price"),
            *("amount", "why", "needed_by"),
        )


class OrderOut(RowOut):
    """What is asked of one supplier; it is named by its number."""

    supplier = SupplierName()
    lines = OrderLineOut(many=True)
    sights: ClassVar = {"shipping": COSTS}

    class Meta:
        model = PurchaseOrder
        fields = read_only_fields = (
            *("number", "supplier", "status", "created_at", "sent_on", "expected_on"),
            *("shipping", "notes", "lines"),
        )


class OrdersIn(Sighted):
    """The most to spend, shipping included; without it all that is needed is ordered."""

    sights: ClassVar = {"budget": COSTS}

    budget = MoneyField(required=False, allow_null=True)


class OrderLineAddIn(serializers.Serializer):
    pack = OwnId(queryset=Pack.objects)
    count = serializers.IntegerField(min_value=1, max_value=1000)


class HandLineIn(OrderLineAddIn, Sighted):
    """So many of a pack, at the supplier's price for so many unless another is given."""

    sights: ClassVar = {"unit_price": COSTS}

    unit_price = MoneyField(required=False, allow_null=True)


class OrderByHandIn(serializers.Serializer):
    """An order of one supplier's packs."""

    supplier = OwnId(queryset=Supplier.objects)
    lines: serializers.ListSerializer = serializers.ListSerializer(
        child=HandLineIn(), allow_empty=False, max_length=200
    )
    notes = serializers.CharField(max_length=1000, required=False, allow_blank=True)

    def validate_lines(self, lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
        if len({line["pack"].pk for line in lines}) < len(lines):
            raise serializers.ValidationError("Name each pack once.", code="unique")
        return lines


class OrderLineIn(Sighted):
    """How many of one pack, at the supplier's price for so many unless another is given; 0 takes
    the line out."""

    sights: ClassVar = {"unit_price": COSTS}

    count = serializers.IntegerField(min_value=0, max_value=1000)
    unit_price = MoneyField(required=False, allow_null=True)


class CameIn(Sighted):
    """How many packs of a line came, and what each was, where it differs from the order."""

    sights: ClassVar = {"price": COSTS}

    line = serializers.IntegerField(min_value=1, max_value=2**63 - 1)
    count = serializers.IntegerField(min_value=0, max_value=1000)
    price = InvoiceMoneyField(required=False)


class ReceiveOrderIn(ReceiptsIn):
    """What came of an order."""

    lines: serializers.ListSerializer = serializers.ListSerializer(
        child=CameIn(), allow_empty=False, max_length=200
    )

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        data = super().validate(data)
        if self.is_foreign(data) and any(
            one["count"] and "price" not in one for one in data["lines"]
        ):
            raise serializers.ValidationError(
                {
                    "lines": [
                        f"Give the price of each line as it stands on the {data['currency']} "
                        "invoice: the order's are in your own currency."
                    ]
                }
            )
        return data


class OrderFilters(Filters):
    supplier = IdFilter("supplier")

    class Meta:
        model = PurchaseOrder
        fields = ("status",)


class OneOrder(StudioViewSet):
    """An order, named by its number."""

    model, out = PurchaseOrder, OrderOut
    lookup_field = "number"

    def rows(self) -> QuerySet[PurchaseOrder]:
        lines = OrderLine.objects.select_related("pack__material")
        lines = lines.annotate(amount=Times("count", "unit_price"))
        rows = self.studio.purchase_orders.select_related("supplier")
        return rows.prefetch_related(Prefetch("lines", lines))


class Orders(OneOrder, Listed, Read):
    """The orders, newest first."""

    takes = OrdersIn
    dated_by = "created_at"
    filterset_class = OrderFilters
    search_fields = ("supplier__name", "notes")
    sort_fields = ("number", "created_at", "sent_on", "expected_on")
    changed_by = ("changed_at", "lines__changed_at")

    @describes(gives=OrderOut(many=True))
    def create(self, request: Request, **key: Any) -> Response:
        """Turn the reorder plan of now into draft orders, one for each supplier."""
        plan = purchasing.plan(studio=self.studio, **self.sent(OrdersIn))
        orders = purchasing.make_orders(studio=self.studio, by=self.request.user, plan=plan)
        rows = self.rows().filter(pk__in=[order.pk for order in orders])
        return self.response_of(list(rows.order_by("number")), status=201)

    @act(OrderByHandIn, path="by-hand", status=201, on_row=False)
    def by_hand(self, lines: list[dict[str, Any]], **sent: Any) -> PurchaseOrder:
        """Draft an order by hand: packs of one supplier, how many of each, at what price."""
        prices = {line["pack"]: line.get("unit_price") for line in lines}
        return purchasing.order_by_hand(
            studio=self.studio,
            by=self.request.user,
            packs={line["pack"]: line["count"] for line in lines},
            prices={pack: price for pack, price in prices.items() if price is not None},
            **sent,
        )

    @act(OrderLineAddIn, path="lines", status=201)
    def add_line(self, order: PurchaseOrder, **sent: Any) -> PurchaseOrder:
        """Put a pack of the same supplier on a draft, or more of it."""
        purchasing.add_line(order=order, **sent)
        return order

    @act()
    def send(self, order: PurchaseOrder) -> PurchaseOrder:
        """Mark an order as sent to its supplier: it is on order from now on."""
        return purchasing.send_order(order=order, by=self.request.user)

    @act()
    def cancel(self, order: PurchaseOrder) -> PurchaseOrder:
        """Call an order off; of one that came in part, the rest."""
        return purchasing.cancel_order(order=order, by=self.request.user)

    @act(ReceiveOrderIn, gives=DeliveryOut, status=201)
    def receive(self, order: PurchaseOrder, lines: list[dict[str, Any]], **sent: Any) -> Delivery:
        """Receive an order, all of it or in part, at landed cost: a bottle for each pack of what is
        poured, one lot of packs of whole items."""
        arrivals = _by_line(order, lines)
        if not self.request.membership.sees(COSTS):
            sent["freight"] = purchasing.shipping_to_come(order)
        delivery = purchasing.receive_order(
            order=order,
            by=self.request.user,
            counts={line: one["count"] for line, one in arrivals.items()},
            prices={line: one["price"] for line, one in arrivals.items() if "price" in one},
            **sent,
        )
        return deliveries_of(self.studio).get(pk=delivery.pk)

    @file()
    def sheet(self, order: PurchaseOrder) -> HttpResponse:
        """One order as a PDF to send or carry into the shop."""
        return pdf_response(
            papers.order_sheet(order, seen_by(self.request.membership)), f"order-{order.number}.pdf"
        )


class OrderLines(OneOrder, Changed):
    """The lines of an order; what is answered, and has versions, is the order."""

    takes = OrderLineIn

    def change(self, order: PurchaseOrder, sent: BaseSerializer) -> PurchaseOrder:
        """Change how many of one pack a draft asks for; none takes the line out."""
        line = get_object_or_404(order.lines, pk=self.kwargs["pk"])
        purchasing.edit_line(line=line, **{"count": line.count, **sent.validated_data})
        return order


def _by_line(
    order: PurchaseOrder, sent: Sequence[dict[str, Any]]
) -> dict[OrderLine, dict[str, Any]]:
    """Return {line: what came}; a line that is not on the order does not exist."""
    lines = {line.pk: line for line in order.lines.all()}
    unknown = [one["line"] for one in sent if one["line"] not in lines]
    if unknown or len({one["line"] for one in sent}) < len(sent):
        words = f"line “{unknown[0]}” does not exist." if unknown else "name each line once."
        raise serializers.ValidationError({"lines": [f"On {order}, {words}"]})
    return {lines[one["line"]]: one for one in sent}
