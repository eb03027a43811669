"""Materials: what a studio keeps, with what is on hand, promised and coming."""

from typing import Any, ClassVar

from django.db.models import QuerySet
from rest_framework import serializers

from inventory.models import Material, with_promises
from inventory.models.supply import MOST_DAYS
from inventory.supplies.price_history import Paid, price_history
from inventory.validators import validate_kind_change, validate_unit_change
from studio.api.acts import answer
from studio.api.asked import KeptFilters
from studio.api.rows import RowIn, RowOut
from studio.api.viewsets import RegisterViewSet
from studio.sight import COSTS

DAYS: dict[str, Any] = {
    "min_value": 0,
    "max_value": MOST_DAYS,
    "required": False,
    "allow_null": True,
}


class MaterialName(RowOut):
    """A material as others refer to it; quantities beside it are in its ``unit``."""

    class Meta:
        model = Material
        fields = ["id", "name", "unit"]
        read_only_fields = fields


def number(**options: Any) -> serializers.DecimalField:
    """A sum of quantities, in the material's unit."""
    return serializers.DecimalField(14, 4, read_only=True, **options)


class MaterialOut(RowOut):
    """A material and its stock, in its own unit; ``projected`` counts what is on order."""

    held, on_order, available, projected = number(), number(), number(), number()
    sights: ClassVar = {"value": COSTS}

    class Meta:
        model = Material
        fields = [
            "id",
            "name",
            "kind",
            "unit",
            "on_hand",
            "held",
            "available",
            "on_order",
            "projected",
            "value",
            "density_g_per_ml",
            "tare_g",
            "swatch",
            "pigments",
            "is_stocked",
            "has_silicone",
            "medium",
            "is_flammable",
            "shelf_life_days",
            "opened_life_days",
            "reorder_point",
            "heat_limit_c",
            "notes",
            "archived_at",
        ]
        read_only_fields = fields


class MaterialIn(RowIn):
    shelf_life_days = serializers.IntegerField(**DAYS)
    opened_life_days = serializers.IntegerField(**DAYS)

    class Meta:
        model = Material
        fields = [
            "name",
            "kind",
            "unit",
            "density_g_per_ml",
            "tare_g",
            "swatch",
            "pigments",
            "is_stocked",
            "has_silicone",
            "medium",
            "is_flammable",
            "shelf_life_days",
            "opened_life_days",
            "reorder_point",
            "heat_limit_c",
            "notes",
        ]

    def validate_kind(self, kind: str) -> str:
        validate_kind_change(self.instance, kind)
        return kind

    def validate_unit(self, unit: str) -> str:
        validate_unit_change(self.instance, unit)
        return unit


class PaidOut(serializers.Serializer):
    """Equal packs of one delivery, ``bottles`` of them; ``size`` is in the material's unit.

    Prices of a unit are by it; ``unit_landed`` has its share of freight and duty, less discount.
    """

    received_on = serializers.DateField()
    supplier = serializers.CharField()
    pack = serializers.CharField()
    size = serializers.DecimalField(14, 4)
    bottles = serializers.IntegerField()
    price = serializers.DecimalField(14, 3)
    unit_price = serializers.DecimalField(16, 6)
    unit_landed = serializers.DecimalField(16, 6)


class MaterialFilters(KeptFilters):
    class Meta:
        model = Material
        fields = ("kind",)


class Materials(RegisterViewSet):
    """The materials that a studio keeps, with what is on hand, promised and coming."""

    model, out, takes = Material, MaterialOut, MaterialIn
    filterset_class = MaterialFilters
    search_fields = ("name", "pigments")
    sort_fields = ("name", "kind")

    def rows(self) -> QuerySet[Material]:
        return with_promises(self.studio.materials.all())

    @answer(PaidOut, pages=True, sights=(COSTS,))
    def prices(self, material: Material) -> list[Paid]:
        """List what was paid for a material, delivery by delivery, oldest first."""
        return price_history(material)
