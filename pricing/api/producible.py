"""What can be made from what is on hand, and the mix of it that earns most."""

from decimal import ROUND_HALF_UP, Decimal

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.response import Response

from inventory.supplies.api.materials import MaterialName
from pricing.costing.api.costs import minutes, value
from pricing.costing.api.names import ProductName
from pricing.earnings.producible import LONGEST_RUN, USUAL_HOURS, producible
from pricing.models import Channel, Product
from studio.api.rows import OwnId, asked
from studio.api.views import StudioView


class MaterialAmountOut(serializers.Serializer):
    """So much of a material, in its own unit."""

    material = MaterialName()
    amount = serializers.DecimalField(14, 4)


@extend_schema_field(MaterialAmountOut(many=True))
class AmountsField(serializers.Field):
    """Pairs of a material and an amount as a list."""

    def to_representation(self, amounts):
        rows = [{"material": material, "amount": amount} for material, amount in amounts]
        return MaterialAmountOut(rows, many=True).data


def value_or_none():
    """What one brings; none where it cannot be made."""
    return serializers.DecimalField(18, 6, rounding=ROUND_HALF_UP, allow_null=True)


class PossibleOut(serializers.Serializer):
    """How many of a product can be made. ``limits`` is what one more lacks; with ``to_buy`` there
    could be ``further`` more, until ``then`` runs out too."""

    product = ProductName()
    count = serializers.IntegerField()
    limits = AmountsField()
    further = serializers.IntegerField()
    to_buy = AmountsField()
    then = MaterialName(many=True)
    price, earns = value_or_none(), value_or_none()
    minutes = serializers.DecimalField(12, 2, rounding=ROUND_HALF_UP, allow_null=True)
    problem = serializers.CharField()


class MadeOut(serializers.Serializer):
    product = ProductName()
    count = serializers.IntegerField()
    earned, minutes = value(), minutes()


class MoreOut(serializers.Serializer):
    """What one more pack would add to what the mix earns; without a pack, one more hour."""

    pack = serializers.IntegerField(source="pack.pk", allow_null=True, default=None)
    material = MaterialName(source="pack.material", allow_null=True, default=None)
    earned = value()


class BestMixOut(serializers.Serializer):
    """The products whose price less tax, fees and materials comes to most."""

    made = MadeOut(many=True)
    earned, minutes, minutes_left = value(), minutes(), minutes()
    left = AmountsField()
    proven = serializers.BooleanField()
    more = MoreOut(many=True)


class ProducibleOut(serializers.Serializer):
    possible = PossibleOut(many=True)
    best = BestMixOut()
    nearest = PossibleOut(allow_null=True)


class MostIn(serializers.Serializer):
    """How many of a product can be sold."""

    product = OwnId(queryset=Product.objects)
    count = serializers.IntegerField(min_value=0, max_value=LONGEST_RUN)


class ProducibleIn(serializers.Serializer):
    """Hands-on hours there are, where it is sold, and what can be sold at most."""

    hours = serializers.DecimalField(
        5, 2, min_value=Decimal(0), max_value=Decimal(200), default=USUAL_HOURS
    )
    channel = OwnId(queryset=Channel.objects, required=False, allow_null=True)
    most = MostIn(many=True, required=False, max_length=500)


class ProducibleEndpoint(StudioView):
    """What can be made: it writes nothing, so a viewer may ask."""

    write_role = "viewer"

    @extend_schema(operation_id="producible_ask", request=ProducibleIn, responses=ProducibleOut)
    def post(self, request):
        """How many of each product can be made now, what limits it, and the mix that earns most."""
        sent = asked(request, ProducibleIn).validated_data
        found = producible(
            request.studio,
            hours=sent["hours"],
            channel=sent.get("channel"),
            most={one["product"].pk: one["count"] for one in sent.get("most", ())},
        )
        return Response(ProducibleOut(found).data)
