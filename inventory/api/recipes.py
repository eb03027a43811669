"""Recipes: what each mix is made of, always written whole."""

from decimal import Decimal

from rest_framework import serializers

from inventory.mixing.recipes import MOST_PARTS, save_recipe
from inventory.models import Material, Recipe, RecipePart
from studio.api.registers import Register
from studio.api.rows import OwnId


class RecipeName(serializers.ModelSerializer):
    class Meta:
        model = Recipe
        fields = ["id", "name"]
        read_only_fields = fields


class RecipePartOut(serializers.ModelSerializer):
    """So many parts of a material, or of another recipe."""

    name = serializers.SerializerMethodField()

    class Meta:
        model = RecipePart
        fields = ["material", "recipe", "name", "parts"]
        read_only_fields = fields

    recipe = serializers.PrimaryKeyRelatedField(source="subrecipe", read_only=True)

    def get_name(self, part) -> str:
        return str(part.material or part.subrecipe)


class RecipeOut(serializers.ModelSerializer):
    """A recipe; ``mix`` is the material that its bottles of mix are of, once there was one."""

    parts = RecipePartOut(many=True)

    class Meta:
        model = Recipe
        fields = [
            "id",
            "name",
            "role",
            "basis",
            "trace_seconds",
            "keeps_days",
            "parts",
            "mix",
            "notes",
            "archived_at",
        ]
        read_only_fields = fields


class RecipePartIn(serializers.Serializer):
    """So many parts of a material, or of another recipe: name one of the two."""

    material = OwnId(queryset=Material.objects, required=False, allow_null=True)
    recipe = OwnId(queryset=Recipe.objects, required=False, allow_null=True)
    parts = serializers.DecimalField(9, 3, min_value=Decimal("0.001"))

    def validate(self, data):
        if bool(data.get("material")) == bool(data.get("recipe")):
            raise serializers.ValidationError("Name either a material or a recipe.", code="one_of")
        return data


class RecipeIn(serializers.ModelSerializer):
    parts = RecipePartIn(many=True, max_length=MOST_PARTS)

    class Meta:
        model = Recipe
        fields = ["name", "role", "basis", "trace_seconds", "keeps_days", "notes", "parts"]


def save(studio, recipe, *, parts, **fields):
    """Write a recipe whole, through the one service that does."""
    return save_recipe(
        studio=studio,
        recipe=recipe,
        parts=[(part.get("material") or part["recipe"], part["parts"]) for part in parts],
        **{"role": Recipe.Role.COLOUR, "basis": Recipe.Basis.VOLUME, **fields},
    )


recipes = Register(
    name="recipe",
    plural="recipes",
    word="recipe",
    rows=lambda studio: studio.recipes.prefetch_related("parts__material", "parts__subrecipe"),
    out=RecipeOut,
    takes=RecipeIn,
    save=save,
    whole=True,
    filters={"role": lambda rows, text: rows.filter(role=text)},
)
