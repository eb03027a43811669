"""Palettes: a base coat, the colours over it and the activator."""

from decimal import Decimal
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.serializers import BaseSerializer

from inventory.mixing.api.recipes import RecipeName
from inventory.models import Recipe
from pricing.costing.catalogue import save_palette
from pricing.models import Palette, PaletteColour
from studio.api.asked import KeptFilters
from studio.api.rows import OwnId, RowIn, RowOut, WholeIn
from studio.api.viewsets import RegisterViewSet

Role = Recipe.Role


class PaletteColourOut(RowOut):
    recipe = RecipeName()

    class Meta:
        model = PaletteColour
        fields = ("recipe", "parts")
        read_only_fields = fields


class PaletteOut(RowOut):
    base = RecipeName()
    activator = RecipeName(allow_null=True)
    colours = PaletteColourOut(many=True)

    class Meta:
        model = Palette
        fields = ("id", "name", "base", "colours", "activator", "notes", "archived_at")
        read_only_fields = fields


class PaletteColourIn(WholeIn):
    """One colour mix, and how many parts of the colours it is."""

    recipe = OwnId(queryset=Recipe.objects.filter(role=Role.COLOUR))
    parts = serializers.DecimalField(9, 3, min_value=Decimal("0.001"), default=Decimal(1))


class PaletteIn(RowIn):
    base = OwnId(queryset=Recipe.objects.filter(role=Role.BASE))
    activator = OwnId(
        queryset=Recipe.objects.filter(role=Role.ACTIVATOR), required=False, allow_null=True
    )
    colours: serializers.ListSerializer = serializers.ListSerializer(
        child=PaletteColourIn(), allow_empty=False, max_length=40
    )

    class Meta:
        model = Palette
        fields = ("name", "base", "colours", "activator", "notes")

    def validate_colours(self, colours: list[dict[str, Any]]) -> list[tuple[Recipe, Decimal]]:
        return [(one["recipe"], one["parts"]) for one in colours]


class Palettes(RegisterViewSet):
    """The palettes; colours that are sent take the place of all there were."""

    model, out, takes = Palette, PaletteOut, PaletteIn
    filterset_class = KeptFilters
    search_fields = sort_fields = ("name",)
    changed_by = ("changed_at", "colours__changed_at")

    def rows(self) -> QuerySet[Palette]:
        rows = self.studio.palettes.select_related("base", "activator")
        return rows.prefetch_related("colours__recipe")

    def add(self, **sent: Any) -> Palette:
        return save_palette(studio=self.studio, **sent)

    def change(self, row: Palette, sent: BaseSerializer) -> Palette:
        values = {name: getattr(row, name) for name in ("name", "base", "activator", "notes")}
        values["colours"] = [(one.recipe, one.parts) for one in row.colours.all()]
        return self.add(palette=row, **(values | sent.validated_data))
