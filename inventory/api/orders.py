"""Orders: drafted from the reorder plan, changed, sent, called off, received."""

from django.db.models import Prefetch
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.buying import papers, purchasing
from inventory.models import OrderLine, Pack, PurchaseOrder
from inventory.supplies.api.materials import MaterialName
from inventory.supplies.api.suppliers import SupplierName
from studio.amounts import Times
from studio.api.fields import MoneyField
from studio.api.papers import PaperView, describes_paper, paper
from studio.api.rows import OwnId, asked
from studio.api.schema import pages_of
from studio.api.views import StudioView


class OrderLineOut(serializers.ModelSerializer):
    """So many of one pack, and why; ``amount`` is what they come to."""

    material = MaterialName(source="pack.material")
    pack_label = serializers.CharField(source="pack")
    amount = serializers.DecimalField(14, 3)

    class Meta:
        model = OrderLine
        fields = [
            "id",
            "material",
            "pack",
            "pack_label",
            "count",
            "received_count",
            "unit_price",
            "amount",
            "why",
            "needed_by",
        ]
        read_only_fields = fields


class OrderOut(serializers.ModelSerializer):
    """What is asked of one supplier; it is named by its number."""

    supplier = SupplierName()
    lines = OrderLineOut(many=True)

    class Meta:
        model = PurchaseOrder
        fields = [
            "number",
            "supplier",
            "status",
            "created_at",
            "sent_on",
            "expected_on",
            "shipping",
            "notes",
            "lines",
        ]
        read_only_fields = fields


class OrdersIn(serializers.Serializer):
    """The most to spend, shipping included; without it all that is needed is ordered."""

    budget = MoneyField(required=False, allow_null=True)


class OrderLineAddIn(serializers.Serializer):
    pack = OwnId(queryset=Pack.objects)
    count = serializers.IntegerField(min_value=1, max_value=1000)


class OrderLineIn(serializers.Serializer):
    """How many of one pack, at the supplier's price for so many unless another is given; 0 takes
    the line out."""

    count = serializers.IntegerField(min_value=0, max_value=1000)
    unit_price = MoneyField(required=False, allow_null=True)


def orders_of(studio):
    """Return the orders of a studio with their lines, ready to be written out."""
    lines = OrderLine.objects.select_related("pack__material")
    lines = lines.annotate(amount=Times("count", "unit_price"))
    rows = studio.purchase_orders.select_related("supplier")
    return rows.prefetch_related(Prefetch("lines", lines))


class OrderView(StudioView):
    """An endpoint of one order."""

    def found(self, request, number):
        """Return the order with this number, or a 404."""
        return get_object_or_404(orders_of(request.studio), number=number)

    def answer(self, request, number, status=200):
        """Answer with the order as it is now."""
        return Response(OrderOut(self.found(request, number)).data, status=status)


class OrdersEndpoint(StudioView):
    """The orders."""

    @extend_schema(operation_id="orders_list", responses=pages_of(OrderOut))
    def get(self, request):
        """List the orders, newest first."""
        return self.paginated(orders_of(request.studio), OrderOut)

    @extend_schema(
        operation_id="orders_add", request=OrdersIn, responses={201: OrderOut(many=True)}
    )
    def post(self, request):
        """Turn the reorder plan of now into draft orders, one for each supplier."""
        sent = asked(request, OrdersIn).validated_data
        plan = purchasing.plan(studio=request.studio, **sent)
        made = purchasing.make_orders(studio=request.studio, by=request.user, plan=plan)
        rows = orders_of(request.studio).filter(pk__in=[order.pk for order in made])
        return Response(OrderOut(rows.order_by("number"), many=True).data, status=201)


class OrderEndpoint(OrderView):
    """One order."""

    @extend_schema(operation_id="orders_read", responses=OrderOut)
    def get(self, request, number):
        """Read one order and its lines."""
        return self.answer(request, number)


class OrderLinesEndpoint(OrderView):
    """The lines of a draft."""

    @extend_schema(
        operation_id="orders_add_line", request=OrderLineAddIn, responses={201: OrderOut}
    )
    def post(self, request, number):
        """Put a pack of the same supplier on a draft, or more of it."""
        found = self.found(request, number)
        purchasing.add_line(order=found, **asked(request, OrderLineAddIn).validated_data)
        return self.answer(request, number, status=201)


class OrderLineEndpoint(OrderView):
    """One line of a draft."""

    @extend_schema(operation_id="orders_change_line", request=OrderLineIn, responses=OrderOut)
    def patch(self, request, number, pk):
        """Change how many of one pack a draft asks for; none takes the line out."""
        line = get_object_or_404(self.found(request, number).lines, pk=pk)
        purchasing.edit_line(line=line, **asked(request, OrderLineIn).validated_data)
        return self.answer(request, number)


class SendOrderEndpoint(OrderView):
    """Sending."""

    @extend_schema(operation_id="orders_send", request=None, responses=OrderOut)
    def post(self, request, number):
        """Mark an order as sent to its supplier: it is on order from now on."""
        purchasing.send_order(order=self.found(request, number), by=request.user)
        return self.answer(request, number)


class CancelOrderEndpoint(OrderView):
    """Calling off."""

    @extend_schema(operation_id="orders_cancel", request=None, responses=OrderOut)
    def post(self, request, number):
        """Call an order off; of one that came in part, the rest."""
        purchasing.cancel_order(order=self.found(request, number), by=request.user)
        return self.answer(request, number)


class OrderSheetEndpoint(PaperView):
    """One order on paper."""

    @describes_paper("orders_sheet", "One order as a PDF to send or carry into the shop.")
    def get(self, request, number):
        found = get_object_or_404(orders_of(request.studio), number=number)
        return paper(papers.order_sheet(found), f"order-{number}")
