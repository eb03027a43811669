"""Surfaces: the sizes a studio pours on, read as a person writes them."""

from copy import copy
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from inventory.models import Material
from inventory.supplies.api.materials import MaterialName
from pricing.estimating.sizes import measure
from pricing.models import SavedSurface
from studio.api.asked import KeptFilters
from studio.api.fields import LengthField, SizeField
from studio.api.rows import OwnId, RowIn, RowOut
from studio.api.viewsets import RegisterViewSet
from studio.errors import StudioError

MEASURED = (
    *("shape", "width_mm", "height_mm", "depth_mm"),
    *("sides", "inner_mm", "inset_mm", "outline"),
)


class SurfaceOut(RowOut):
    """A size as measured; ``material`` is the tile or canvas it is in stock."""

    size = serializers.CharField()
    material = MaterialName(allow_null=True)

    class Meta:
        model = SavedSurface
        fields = (
            *("id", "name", "nominal", "size", *MEASURED),
            *("sides_painted", "material", "archived_at"),
        )
        read_only_fields = fields


class SurfaceIn(RowIn):
    """A surface by its measured size; of an outline, the rectangle around it."""

    size = SizeField()
    inset_mm = LengthField(required=False, allow_zero=True)
    outline = serializers.CharField(required=False, allow_blank=True, max_length=20_000)
    material = OwnId(
        queryset=Material.objects.filter(kind=Material.Kind.SURFACE),
        required=False,
        allow_null=True,
    )

    class Meta:
        model = SavedSurface
        fields = ("name", "size", "nominal", "sides_painted", "inset_mm", "outline", "material")

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        row = copy(self.instance) if self.instance else SavedSurface()
        size = data.pop("size", None) or row.parsed()
        measured = ("inset_mm", "outline", "sides_painted")
        try:
            measure(
                row,
                size,
                depth_mm=size.depth_mm,
                **{name: data.get(name, getattr(row, name)) for name in measured},
            )
        except StudioError as error:
            raise serializers.ValidationError({"size": [str(error)]}, code="unreadable") from error
        return super().validate(data | {name: getattr(row, name) for name in MEASURED})


class Surfaces(RegisterViewSet):
    """The sizes that a studio pours on, as measured."""

    model, out, takes = SavedSurface, SurfaceOut, SurfaceIn
    filterset_class = KeptFilters
    search_fields = ("name", "nominal")
    sort_fields = ("name",)

    def rows(self) -> QuerySet[SavedSurface]:
        return self.studio.surfaces.select_related("material", "studio")
