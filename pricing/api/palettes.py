"""Palettes: a base coat, the colours over it and the activator, always written whole."""

from decimal import Decimal

from rest_framework import serializers

from inventory.mixing.api.recipes import RecipeName
from inventory.models import Recipe
from pricing.costing.catalogue import save_palette
from pricing.models import Palette, PaletteColour
from studio.api.registers import Register
from studio.api.rows import OwnId, RowIn

Role = Recipe.Role


class PaletteName(serializers.ModelSerializer):
    class Meta:
        model = Palette
        fields = ["id", "name"]
        read_only_fields = fields


class PaletteColourOut(serializers.ModelSerializer):
    recipe = RecipeName()

    class Meta:
        model = PaletteColour
        fields = ["recipe", "parts"]
        read_only_fields = fields


class PaletteOut(serializers.ModelSerializer):
    base = RecipeName()
    activator = RecipeName(allow_null=True)
    colours = PaletteColourOut(many=True)

    class Meta:
        model = Palette
        fields = ["id", "name", "base", "colours", "activator", "notes", "archived_at"]
        read_only_fields = fields


class PaletteColourIn(serializers.Serializer):
    """One colour mix, and how many parts of the colours it is."""

    recipe = OwnId(queryset=Recipe.objects.filter(role=Role.COLOUR))
    parts = serializers.DecimalField(9, 3, min_value=Decimal("0.001"), default=Decimal(1))


class PaletteIn(RowIn):
    base = OwnId(queryset=Recipe.objects.filter(role=Role.BASE))
    activator = OwnId(
        queryset=Recipe.objects.filter(role=Role.ACTIVATOR), required=False, allow_null=True
    )
    colours = PaletteColourIn(many=True, allow_empty=False, max_length=40)

    class Meta:
        model = Palette
        fields = ["name", "base", "colours", "activator", "notes"]


def _save(studio, palette, *, colours, **fields):
    return save_palette(
        studio=studio,
        palette=palette,
        colours=[(one["recipe"], one["parts"]) for one in colours],
        **fields,
    )


palettes = Register(
    name="palette",
    plural="palettes",
    word="palette",
    rows=lambda studio: studio.palettes.select_related("base", "activator").prefetch_related(
        "colours__recipe"
    ),
    out=PaletteOut,
    takes=PaletteIn,
    save=_save,
    whole=True,
)
