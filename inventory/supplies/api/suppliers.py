"""Suppliers, their terms, and the packs they sell."""

from collections.abc import Callable
from copy import copy
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Model, QuerySet
from rest_framework import serializers

from inventory.models import Material, Pack, Supplier
from inventory.steps import MOST_PACKS, MOST_STEPS, PRICE_BREAKS, SHIPPING_TIERS
from inventory.supplies.api.materials import MaterialName
from inventory.validators import validate_size_change
from studio.api.asked import Filters, IdFilter, KeptFilters
from studio.api.fields import AmountField, MoneyField, read_amount
from studio.api.rows import OwnId, RowIn, RowOut, WholeIn, name_of
from studio.api.viewsets import Added, Changed, Listed, Read, RegisterViewSet
from studio.sight import COSTS

SupplierName = name_of(Supplier)
TERMS = ("minimum_order", "shipping_fee", "free_shipping_over", "shipping_tiers")


class BreakIn(WholeIn):
    """From so many packs on, the price of each."""

    min_count = serializers.IntegerField(min_value=2, max_value=MOST_PACKS)
    price = MoneyField()


class BreakOut(serializers.Serializer):
    min_count = serializers.IntegerField()
    price = serializers.DecimalField(12, 3)


class TierIn(WholeIn):
    """From goods of this value on, what shipping costs."""

    goods_from = MoneyField()
    fee = MoneyField()


class TierOut(serializers.Serializer):
    goods_from = serializers.DecimalField(12, 3)
    fee = serializers.DecimalField(12, 3)


def checked_whole(serializer: RowIn, data: dict[str, Any]) -> dict[str, Any]:
    """Refuse a row whose fields do not go together, as its model has it."""
    model: type[Model] = serializer.Meta.model
    row = copy(serializer.instance) if serializer.instance else model()
    for name, value in data.items():
        setattr(row, name, value)
    try:
        row.clean()
    except ValidationError as error:
        raise serializers.ValidationError(error.message_dict) from error
    return data


class SupplierOut(RowOut):
    shipping_tiers = TierOut(many=True)
    sights = dict.fromkeys(TERMS, COSTS)

    class Meta:
        model = Supplier
        exclude = ["studio", "changed_at"]
        read_only_fields = [field.name for field in Supplier._meta.fields]


class SupplierIn(RowIn):
    sights = dict.fromkeys(TERMS, COSTS)

    minimum_order = MoneyField(required=False)
    shipping_fee = MoneyField(required=False)
    free_shipping_over = MoneyField(required=False, allow_null=True)
    shipping_tiers: serializers.ListSerializer = serializers.ListSerializer(
        child=TierIn(), required=False, max_length=MOST_STEPS
    )

    class Meta:
        model = Supplier
        fields = [
            "name",
            "email",
            "phone",
            "lead_days",
            "lead_sd_days",
            "minimum_order",
            "shipping_fee",
            "free_shipping_over",
            "shipping_tiers",
            "notes",
        ]

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        if "shipping_tiers" in data:
            data["shipping_tiers"] = SHIPPING_TIERS.stored(
                (one["goods_from"], one["fee"]) for one in data["shipping_tiers"]
            )
        return checked_whole(self, super().validate(data))


class PackOut(RowOut):
    material, supplier = MaterialName(), SupplierName()
    price_breaks = BreakOut(many=True)
    sights = dict.fromkeys(("price", "price_breaks"), COSTS)

    class Meta:
        model = Pack
        exclude = ["studio", "changed_at"]
        read_only_fields = [field.name for field in Pack._meta.fields]


class PackIn(RowIn):
    """A pack; ``size`` is in the material's unit unless it names another."""

    supplier = OwnId(queryset=Supplier.objects)
    material = OwnId(queryset=Material.objects)
    size = AmountField()
    price = MoneyField()
    price_breaks: serializers.ListSerializer = serializers.ListSerializer(
        child=BreakIn(), required=False, max_length=MOST_STEPS
    )
    minimum_count = serializers.IntegerField(min_value=1, max_value=1000, required=False)

    class Meta:
        model = Pack
        fields = [
            "supplier",
            "material",
            "label",
            "size",
            "price",
            "price_breaks",
            "minimum_count",
            "supplier_code",
            "tare_g",
            "is_on_offer",
        ]
        # The serializer looks for a second one itself, once the size is read.
        validators: list[Callable[..., None]] = []

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        row_data = data if self.instance is None else {"material": self.instance.material, **data}
        material = row_data["material"]
        if "size" in data:
            data["size"] = read_amount(data["size"], material, self.studio, "size")
            try:
                validate_size_change(self.instance, data["size"])
            except ValidationError as error:
                raise serializers.ValidationError({"size": error.messages}) from error
        if "price_breaks" in data:
            data["price_breaks"] = PRICE_BREAKS.stored(
                (one["min_count"], one["price"]) for one in data["price_breaks"]
            )
        return checked_whole(self, super().validate(data))


class SupplierFilters(KeptFilters):
    class Meta:
        model = Supplier
        fields = ()


class Suppliers(RegisterViewSet):
    """The suppliers, with their terms."""

    model, out, takes = Supplier, SupplierOut, SupplierIn
    filterset_class = SupplierFilters
    search_fields = ("name",)
    sort_fields = ("name",)

    def rows(self) -> QuerySet[Supplier]:
        return self.studio.suppliers.all()


class PackFilters(Filters):
    material, supplier = IdFilter("material"), IdFilter("supplier")

    class Meta:
        model = Pack
        fields = ("is_on_offer",)


class Packs(Listed, Read, Added, Changed):
    """The packs that suppliers sell."""

    model, out, takes = Pack, PackOut, PackIn
    filterset_class = PackFilters
    sort_fields = ("price", "size")
    write_sights = (COSTS,)

    def rows(self) -> QuerySet[Pack]:
        return self.studio.packs.select_related("material", "supplier")
