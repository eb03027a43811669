"""Products: what a studio makes again and again."""

from decimal import Decimal

from django.db.models import QuerySet
from rest_framework import serializers

from inventory.models import Material
from inventory.supplies.api.materials import MaterialName
from pricing.costing.api.costs import minutes_in
from pricing.costing.api.names import PaletteName, ResinKitName, SurfaceName
from pricing.models import Palette, Product, ResinKit, SavedSurface, Technique
from studio.api.asked import KeptFilters
from studio.api.fields import MoneyField
from studio.api.rows import OwnId, OwnSlug, RowIn, RowOut
from studio.api.viewsets import Kept

FIELDS = (
    *("name", "surface", "technique", "palette", "topcoat"),
    *("pieces_each", "packaging", "price", "minutes"),
)


class MadeOut(serializers.Serializer):
    """What is made: so poured on a surface, coated and packed."""

    surface, palette = SurfaceName(), PaletteName()
    technique = serializers.CharField(source="technique.slug")
    topcoat = ResinKitName(allow_null=True)
    packaging = MaterialName(allow_null=True)


class MadeIn(serializers.Serializer):
    """What is made; a technique by its slug."""

    technique = OwnSlug(queryset=Technique.objects.filter(is_offered=True))
    palette = OwnId(queryset=Palette.objects)
    topcoat = OwnId(queryset=ResinKit.objects, required=False, allow_null=True)
    packaging = OwnId(
        queryset=Material.objects.filter(kind=Material.Kind.PACKAGING),
        required=False,
        allow_null=True,
    )


class ProductOut(MadeOut, RowOut):
    """One piece or set; without a price it costs what a quote for one would be."""

    class Meta:
        model = Product
        fields = read_only_fields = ("id", *FIELDS, "archived_at")


class ProductIn(MadeIn, RowIn):
    surface = OwnId(queryset=SavedSurface.objects)
    price = MoneyField(required=False, allow_null=True)
    minutes = minutes_in(required=False, allow_null=True)

    class Meta:
        model = Product
        fields = FIELDS

    def validate_price(self, price: Decimal | None) -> Decimal | None:
        """A price of nothing is none."""
        return price or None


class Products(Kept):
    """What a studio makes again and again."""

    model, out, takes = Product, ProductOut, ProductIn
    filterset_class = KeptFilters
    search_fields = sort_fields = ("name",)

    def rows(self) -> QuerySet[Product]:
        return self.studio.products.select_related(
            "surface", "technique", "palette", "topcoat", "packaging"
        )
