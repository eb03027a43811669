"""An order that arrived, all of it or in part."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from inventory.api.deliveries import DeliveryOut, ReceiptsIn, delivery_answer
from inventory.api.orders import OrderView
from inventory.buying import purchasing
from studio.api.fields import InvoiceMoneyField
from studio.api.rows import asked


class CameIn(serializers.Serializer):
    """How many packs of a line came, and what each was, where it differs from the order."""

    line = serializers.IntegerField(min_value=1, max_value=2**63 - 1)
    count = serializers.IntegerField(min_value=0, max_value=1000)
    price = InvoiceMoneyField(required=False)


class ReceiveOrderIn(ReceiptsIn):
    """What came of an order."""

    lines = CameIn(many=True, allow_empty=False, max_length=200)

    def validate(self, data):
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


class ReceiveOrderEndpoint(OrderView):
    """Receiving."""

    @extend_schema(
        operation_id="orders_receive", request=ReceiveOrderIn, responses={201: DeliveryOut}
    )
    def post(self, request, number):
        """Receive an order, all of it or in part: a bottle for each pack, at its landed cost."""
        found = self.found(request, number)
        sent = asked(request, ReceiveOrderIn).validated_data
        came = _by_line(found, sent.pop("lines"))
        made = purchasing.receive_order(
            order=found,
            by=request.user,
            counts={line: one["count"] for line, one in came.items()},
            prices={line: one["price"] for line, one in came.items() if "price" in one},
            **sent,
        )
        return delivery_answer(request, made)


def _by_line(order, sent):
    """Return {line: what came}; a line that is not on the order does not exist."""
    lines = {line.pk: line for line in order.lines.all()}
    unknown = [one["line"] for one in sent if one["line"] not in lines]
    if unknown or len({one["line"] for one in sent}) < len(sent):
        words = f"line “{unknown[0]}” does not exist." if unknown else "name each line once."
        raise serializers.ValidationError({"lines": [f"On {order}, {words}"]})
    return {lines[one["line"]]: one for one in sent}
