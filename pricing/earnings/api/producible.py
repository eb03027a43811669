"""What can be made from what is on hand, and the mix of it that earns most."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from inventory.supplies.api.materials import MaterialName
from pricing.costing.api.costs import minutes, value
from pricing.costing.api.names import ProductName
from pricing.costing.asking import Via
from pricing.earnings import possible
from pricing.earnings.producible import LONGEST_RUN, USUAL_HOURS, producible
from pricing.models import Channel, Product
from studio.api.acts import act
from studio.api.rows import OwnId, Sighted
from studio.api.viewsets import StudioViewSet
from studio.sight import PRICES, PROFIT


class MaterialAmountOut(serializers.Serializer):
    """So much of a material, in its own unit."""

    material = MaterialName()
    amount = serializers.DecimalField(14, 4)


@extend_schema_field(MaterialAmountOut(many=True))
class AmountsField(serializers.Field):
    """Pairs of a material and an amount as a list."""

    def to_representation(self, amounts: possible.Amounts) -> Any:
        rows = [{"material": material, "amount": amount} for material, amount in amounts]
        return MaterialAmountOut(rows, many=True).data


class PossibleOut(Sighted):
    """How many of a product can be made. ``limits`` is what one more lacks; with ``to_buy`` there
    could be ``further`` more, until ``then`` runs out too. One that cannot be made has no price."""

    sights: ClassVar = {"price": PRICES, "earns": PROFIT}

    product = ProductName()
    count = serializers.IntegerField()
    limits = AmountsField()
    further = serializers.IntegerField()
    to_buy = AmountsField()
    then = MaterialName(many=True)
    price, earns = value(allow_null=True), value(allow_null=True)
    minutes = minutes(allow_null=True)
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


class ProducibleOut(Sighted):
    sights: ClassVar = {"best": PROFIT}

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
    most: serializers.ListSerializer = serializers.ListSerializer(
        child=MostIn(), required=False, max_length=500
    )


class ProducibleViewSet(StudioViewSet):
    """What can be made: it writes nothing, so a viewer may ask."""

    @act(ProducibleIn, gives=ProducibleOut, role="viewer", on_row=False)
    def ask(
        self,
        hours: Decimal,
        channel: Channel | Via | None = Via.USUAL,
        most: Sequence[dict[str, Any]] = (),
    ) -> possible.Producible:
        """How many of each product can be made now, what limits it, and the mix that earns most."""
        counts = {one["product"].pk: one["count"] for one in most}
        return producible(self.studio, hours=hours, channel=channel, most=counts)
