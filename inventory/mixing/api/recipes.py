"""Recipes: what each mix is made of."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.serializers import BaseSerializer

from inventory.mixing.mix_book import mix_book
from inventory.mixing.questions import Question, questions_of
from inventory.mixing.recipes import MOST_PARTS, save_recipe
from inventory.models import Material, Recipe, RecipePart
from inventory.supplies.api.materials import MaterialName
from studio.api.acts import answer
from studio.api.asked import KeptFilters
from studio.api.rows import OwnId, RowOut, WholeIn, name_of
from studio.api.viewsets import RegisterViewSet

WRITTEN = ("name", "role", "basis", "trace_seconds", "keeps_days", "notes")


RecipeName = name_of(Recipe)


class RecipePartOut(RowOut):
    """So many parts of a material, or of another recipe."""

    material = MaterialName(allow_null=True)
    recipe = RecipeName(source="subrecipe", allow_null=True)

    class Meta:
        model = RecipePart
        fields = ["material", "recipe", "parts"]
        read_only_fields = fields


class RecipeOut(RowOut):
    """A recipe; ``mix`` is the material that its bottles of mix are of, once there was one."""

    parts = RecipePartOut(many=True)

    class Meta:
        model = Recipe
        fields = ["id", *WRITTEN, "parts", "mix", "archived_at"]
        read_only_fields = fields


class QuestionOut(serializers.Serializer):
    """Something to ask of a recipe before it is poured: resin in it, water, its film, its keeping.

    What is no warning is worth knowing.
    """

    code = serializers.ChoiceField(choices=["resin", "water", "film", "keeps"])
    sentence = serializers.CharField()
    is_warning = serializers.BooleanField()


class RecipePartIn(WholeIn):
    """So many parts of a material, or of another recipe: name one of the two."""

    material = OwnId(queryset=Material.objects, required=False, allow_null=True)
    recipe = OwnId(queryset=Recipe.objects, required=False, allow_null=True)
    parts = serializers.DecimalField(9, 3, min_value=Decimal("0.001"))

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        if bool(data.get("material")) == bool(data.get("recipe")):
            raise serializers.ValidationError("Name either a material or a recipe.", code="one_of")
        return data


class RecipeIn(serializers.ModelSerializer):
    """A recipe; ``parts``, where they are sent, take the place of those it had."""

    parts: serializers.ListSerializer = serializers.ListSerializer(
        child=RecipePartIn(), max_length=MOST_PARTS
    )

    class Meta:
        model = Recipe
        fields = [*WRITTEN, "parts"]

    def validate_parts(
        self, parts: Iterable[dict[str, Any]]
    ) -> list[tuple[Material | Recipe, Decimal]]:
        return [(part.get("material") or part["recipe"], part["parts"]) for part in parts]


class RecipeFilters(KeptFilters):
    class Meta:
        model = Recipe
        fields = ("role",)


class Recipes(RegisterViewSet):
    """What the studio mixes, and of what."""

    model, out, takes = Recipe, RecipeOut, RecipeIn
    filterset_class = RecipeFilters
    search_fields = ("name",)
    sort_fields = ("name", "role")
    changed_by = ("changed_at", "parts__changed_at")

    def rows(self) -> QuerySet[Recipe]:
        return self.studio.recipes.prefetch_related("parts__material", "parts__subrecipe")

    def row(self, *, lock: bool = False) -> Any:
        if lock:  # all of them in order, as `save_recipe` does, so that none waits for another
            list(self.studio.recipes.select_for_update().order_by("pk"))
        return super().row()

    @answer(QuestionOut, pages=True)
    def questions(self, recipe: Recipe) -> list[Question]:
        """List what is to be asked of a recipe before it is poured, the gravest first."""
        return list(questions_of(mix_book(self.studio), recipe))

    def add(self, **sent: Any) -> Recipe:
        return save_recipe(studio=self.studio, **{**_written(Recipe()), **sent})

    def change(self, recipe: Recipe, sent: BaseSerializer) -> Recipe:
        parts = [(part.material or part.subrecipe, part.parts) for part in recipe.parts.all()]
        fields = {**_written(recipe), "parts": parts}
        return save_recipe(studio=self.studio, recipe=recipe, **{**fields, **sent.validated_data})


def _written(recipe: Recipe) -> dict[str, Any]:
    return {name: getattr(recipe, name) for name in WRITTEN}
