"""Products: what a studio makes again and again."""

from collections.abc import Collection, Mapping
from decimal import Decimal
from typing import Any, ClassVar

from django.db.models import QuerySet
from rest_framework import serializers

from inventory.models import Material
from inventory.supplies.api.materials import MaterialName
from pricing.costing.api.asking import AskingOut
from pricing.costing.api.costs import minutes_in
from pricing.costing.api.names import PaletteName, ResinKitName, SurfaceName
from pricing.costing.planned_price import Priced, price_of_product
from pricing.costing.products import save_product
from pricing.estimating.bases import base_problem
from pricing.estimating.kits import topcoat_problem
from pricing.models import Palette, Product, ResinKit, SavedSurface, Technique, Use
from pricing.models.technique import BASE_CHOICES
from pricing.readiness.api.reasons import reason_in
from studio.api.acts import answer
from studio.api.asked import KeptFilters
from studio.api.fields import MoneyField
from studio.api.rows import OwnId, OwnSlug, RowIn, RowOut
from studio.api.viewsets import RegisterViewSet
from studio.sight import PRICES

MOST_TOGETHER = 100  # common practice, no source
FIELDS = (
    *("name", "surface", "technique", "base", "palette", "topcoat"),
    *("pieces_each", "packaging", "use", "price", "minutes"),
)


class SpecificationOut(serializers.Serializer):
    """What is made: so poured on a surface, coated and packed."""

    surface, palette = SurfaceName(), PaletteName()
    technique = serializers.CharField(source="technique.slug")
    topcoat = ResinKitName(allow_null=True)
    packaging = MaterialName(allow_null=True)


def use_in() -> serializers.ChoiceField:
    """What it is for; not said, it counts as the strictest that it can be."""
    return serializers.ChoiceField(choices=Use.choices, required=False, allow_blank=True)


class SpecificationIn(serializers.Serializer):
    """What is made; a technique by its slug."""

    technique = OwnSlug(queryset=Technique.objects.filter(is_offered=True))
    base = serializers.ChoiceField(choices=BASE_CHOICES, required=False, allow_blank=True)
    palette = OwnId(queryset=Palette.objects)
    topcoat = OwnId(queryset=ResinKit.objects, required=False, allow_null=True)
    packaging = OwnId(
        queryset=Material.objects.filter(kind=Material.Kind.PACKAGING),
        required=False,
        allow_null=True,
    )
    use = use_in()

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        technique = data.get("technique") or getattr(self.instance, "technique", None)
        base = data.get("base", getattr(self.instance, "base", ""))
        if technique and (problem := base_problem(technique, base)):
            raise serializers.ValidationError({"base": [problem]})
        if problem := topcoat_problem(data.get("topcoat")):
            raise serializers.ValidationError({"topcoat": [problem]})
        return super().validate(data)


class ProductOut(SpecificationOut, RowOut):
    """One piece or set; without a price it costs what a quote for one would be."""

    sights: ClassVar = {"price": PRICES}

    class Meta:
        model = Product
        fields = read_only_fields = ("id", *FIELDS, "archived_at")


class ProductIn(SpecificationIn, RowIn):
    surface = OwnId(queryset=SavedSurface.objects)
    price = MoneyField(required=False, allow_null=True)
    minutes = minutes_in(required=False, allow_null=True)
    reason = reason_in()

    class Meta:
        model = Product
        fields = (*FIELDS, "reason")

    def _written(self, row: Any, data: Mapping[str, Any]) -> Any:
        self.why = data.get("reason", "")
        return super()._written(row, {one: data[one] for one in data if one != "reason"})

    def keep(self, row: Any, names: Collection[str]) -> Product:
        by = self.context["request"].user
        return save_product(product=row, by=by, names=names, reason=self.why)

    def validate_price(self, price: Decimal | None) -> Decimal | None:
        """A price of nothing is none."""
        return price or None


class PriceIn(serializers.Serializer):
    """How many are made in one go."""

    together = serializers.IntegerField(min_value=1, max_value=MOST_TOGETHER, default=1)


class Products(RegisterViewSet):
    """What a studio makes again and again."""

    model, out, takes = Product, ProductOut, ProductIn
    filterset_class = KeptFilters
    search_fields = sort_fields = ("name",)

    def rows(self) -> QuerySet[Product]:
        return self.studio.products.select_related(
            "surface", "technique", "palette", "topcoat", "packaging"
        )

    @answer(AskingOut, sights=(PRICES,), parameters=(PriceIn,))
    def asking(self, product: Product) -> Priced:
        """What to ask for one of so many that are made in one go, whatever its own price is."""
        return price_of_product(product, self.checked_query(PriceIn)["together"])
