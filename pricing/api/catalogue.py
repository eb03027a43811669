"""What a studio works with and sells through: techniques, resin kits, channels, customers."""

from decimal import Decimal

from rest_framework import serializers

from inventory.models import Material
from inventory.supplies.api.materials import MaterialName
from pricing.costing.catalogue import save_technique
from pricing.models import Channel, Customer, LabourStep, ResinKit, Technique
from studio.api.fields import LengthField, MoneyField
from studio.api.registers import Register
from studio.api.rows import OwnId, RowIn


class CustomerName(serializers.ModelSerializer):
    class Meta:
        model = Customer
        fields = ["id", "name"]
        read_only_fields = fields


class CustomerOut(serializers.ModelSerializer):
    class Meta:
        model = Customer
        exclude = ["studio"]
        read_only_fields = [field.name for field in Customer._meta.fields]


class CustomerIn(RowIn):
    class Meta:
        model = Customer
        fields = ["name", "email", "phone", "address", "notes"]


class ChannelName(serializers.ModelSerializer):
    class Meta:
        model = Channel
        fields = ["id", "name"]
        read_only_fields = fields


class ChannelOut(serializers.ModelSerializer):
    """A way of selling; ``percent_fee`` is a share of one, such as 0.065."""

    class Meta:
        model = Channel
        exclude = ["studio"]
        read_only_fields = [field.name for field in Channel._meta.fields]


class ChannelIn(RowIn):
    fixed_fee = MoneyField(required=False)
    listing_fee = MoneyField(required=False)

    class Meta:
        model = Channel
        fields = [
            "name",
            "percent_fee",
            "fixed_fee",
            "listing_fee",
            "fee_on_shipping",
            "is_consignment",
        ]


class ResinKitName(serializers.ModelSerializer):
    class Meta:
        model = ResinKit
        fields = ["id", "name"]
        read_only_fields = fields


class ResinKitOut(serializers.ModelSerializer):
    """A two-part topcoat; every figure is the maker's own. Its data sheet has the last word."""

    resin, hardener = MaterialName(), MaterialName()

    class Meta:
        model = ResinKit
        exclude = ["studio"]
        read_only_fields = [field.name for field in ResinKit._meta.fields]


class ResinKitIn(RowIn):
    resin = OwnId(queryset=Material.objects.filter(kind=Material.Kind.RESIN))
    hardener = OwnId(queryset=Material.objects.filter(kind=Material.Kind.HARDENER))
    film_mm = LengthField(required=False)
    maximum_film_mm = LengthField(required=False)

    class Meta:
        model = ResinKit
        exclude = ["studio", "archived_at"]


class LabourStepOut(serializers.ModelSerializer):
    """Hands-on minutes of one step: once a session, and again for each piece."""

    class Meta:
        model = LabourStep
        fields = ["step", "fixed_minutes", "minutes_each"]


class LabourStepIn(LabourStepOut):
    def validate(self, data):
        missing = [name for name in self.fields if name not in data]
        if missing:  # a technique is changed in part, and a step never is
            raise serializers.ValidationError(
                {name: [self.fields[name].error_messages["required"]] for name in missing},
                code="required",
            )
        return data


class TechniqueOut(serializers.ModelSerializer):
    name = serializers.CharField()
    steps = LabourStepOut(many=True)

    class Meta:
        model = Technique
        fields = ["id", "slug", "name", "success_rate", "learns", "is_offered", "steps"]
        read_only_fields = fields


class TechniqueIn(serializers.Serializer):
    """Steps that are not named keep their minutes."""

    success_rate = serializers.DecimalField(
        6, 4, min_value=Decimal("0.01"), max_value=Decimal(1), required=False
    )
    is_offered = serializers.BooleanField(required=False)
    learns = serializers.BooleanField(required=False)
    steps = LabourStepIn(many=True, required=False, max_length=len(LabourStep.Step))


def _save_technique(studio, technique, *, steps=(), **changes):
    wanted = {name: getattr(technique, name) for name in ("success_rate", "is_offered", "learns")}
    return save_technique(
        technique=technique,
        steps={one["step"]: (one["fixed_minutes"], one["minutes_each"]) for one in steps},
        **(wanted | changes),
    )


techniques = Register(
    name="technique",
    plural="techniques",
    word="technique",
    rows=lambda studio: studio.techniques.prefetch_related("steps"),
    out=TechniqueOut,
    takes=TechniqueIn,
    save=_save_technique,
    write_role="owner",
    can_add=False,
)

resin_kits = Register(
    name="resin-kit",
    plural="resin-kits",
    word="resin kit",
    rows=lambda studio: studio.resin_kits.select_related("resin", "hardener"),
    out=ResinKitOut,
    takes=ResinKitIn,
)

channels = Register(
    name="channel",
    plural="channels",
    word="channel",
    rows=lambda studio: studio.channels,
    out=ChannelOut,
    takes=ChannelIn,
    write_role="owner",
)

customers = Register(
    name="customer",
    plural="customers",
    word="customer",
    rows=lambda studio: studio.customers,
    out=CustomerOut,
    takes=CustomerIn,
    filters={"q": lambda rows, text: rows.filter(name__icontains=text)},
)
