"""The studio's recipes, loaded in a few queries for the mixing arithmetic."""

from collections import defaultdict
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from inventory.errors import RecipeRefused
from inventory.mixing import proportions as mixing
from inventory.models import Material, Recipe, RecipePart
from studio.errors import in_words
from studio.models import Studio

LEDGER = Decimal("0.0001")


@dataclass
class MixBook:
    """Every recipe of a studio as plain mixes, and every material by its key."""

    materials: dict[Hashable, Material]
    recipes: dict[Hashable, Recipe]
    parts: dict[Hashable, list[RecipePart]]
    _mixes: dict[Hashable, mixing.MixRecipe] = field(default_factory=dict)

    def mix(self, recipe_id: Hashable) -> mixing.MixRecipe:
        """Return the plain mix of a recipe; refuses an empty one and a ring of recipes."""
        if recipe_id not in self._mixes:
            with in_words(mixing.MixingError):
                self._refuse_ring(recipe_id)
                self._mixes[recipe_id] = self._build(recipe_id)
        return self._mixes[recipe_id]

    def materials_in(
        self, recipe_id: Hashable, volume_ml: Decimal | int
    ) -> dict[Material, Decimal]:
        """Return what goes into a volume of a recipe, in each material's own unit.

        Items counted in grams are converted through their density; the volumes add up exactly.
        """
        if not volume_ml:
            return {}
        with in_words(mixing.MixingError):
            amounts = mixing.explode(self.mix(recipe_id), Decimal(volume_ml))
        return {
            self.materials[key]: in_own_unit(self.materials[key], amount.ml)
            for key, amount in amounts.items()
            if amount.ml
        }

    def draw(
        self, recipe_id: Hashable, volume_ml: Decimal | int, ready: Mapping[Hashable, Decimal]
    ) -> tuple[dict[Hashable, Decimal], dict[Material, Decimal]]:
        """Return what goes into a volume of a recipe where mixes of ``ready``, {recipe key: mL},
        are used up first: ({recipe key: mL} of those, {material: quantity in its own unit}).
        """
        with in_words(mixing.MixingError):
            draw = mixing.draw(self.mix(recipe_id), Decimal(volume_ml), ready)
        fresh = {
            self.materials[key]: in_own_unit(self.materials[key], ml)
            for key, ml in draw.fresh.items()
        }
        return draw.ready, fresh

    def mixes_in(self, recipe_id: Hashable) -> set[Hashable]:
        """Return the keys of a recipe and of every recipe in it."""
        keys, to_see = set(), [recipe_id]
        while to_see:
            one = to_see.pop()
            if one not in keys:
                keys.add(one)
                to_see += [part.subrecipe_id for part in self.parts[one] if part.subrecipe_id]
        return keys

    def things_in(self, recipe_id: Hashable) -> set[int]:
        """Return the keys of every material that may go into a mix: its ingredients, and the mixes
        in it where there are bottles of them.
        """
        inside = self.mixes_in(recipe_id)
        ingredients = {part.material_id for one in inside for part in self.parts[one]}
        ready = {self.recipes[one].mix_id for one in inside - {recipe_id}}
        return {one for one in ingredients | ready if one is not None}

    def density(self, recipe_id: Hashable) -> Decimal | None:
        """Return the density of a mix, [g/mL], to four places; None where one is not known."""
        try:
            exact = mixing.density(self.mix(recipe_id))
        except mixing.RecipeError:
            return None
        return (Decimal(exact.numerator) / exact.denominator).quantize(LEDGER)

    def _build(self, recipe_id: Hashable) -> mixing.MixRecipe:
        recipe = self.recipes[recipe_id]
        parts = tuple(
            mixing.Part(
                self._ingredient(part.material_id)
                if part.material_id
                else self.mix(part.subrecipe_id),
                part.parts,
            )
            for part in self.parts[recipe_id]
        )
        by_weight = recipe.basis == Recipe.Basis.WEIGHT
        return mixing.MixRecipe(recipe_id, recipe.name, parts, "weight" if by_weight else "volume")

    def _ingredient(self, material_id: int) -> mixing.Ingredient:
        material = self.materials[material_id]
        return mixing.Ingredient(material_id, material.name, material.density_g_per_ml)

    def _refuse_ring(self, recipe_id: Hashable) -> None:
        graph: dict[Hashable, list[Hashable]] = {}
        to_see: list[Hashable] = [recipe_id]
        while to_see:
            one = to_see.pop()
            if one not in graph:
                graph[one] = [part.subrecipe_id for part in self.parts[one] if part.subrecipe_id]
                to_see += graph[one]
        mixing.refuse_cycle(graph, {key: self.recipes[key].name for key in graph})


def in_own_unit(material: Material, volume_ml: Decimal | int) -> Decimal:
    """Return a volume in the unit its material is counted in, to four places."""
    if material.unit == Material.Unit.ML:
        return Decimal(volume_ml).quantize(LEDGER)
    if material.unit == Material.Unit.G and material.density_g_per_ml:
        return (Decimal(volume_ml) * material.density_g_per_ml).quantize(LEDGER)
    needed = "a density" if material.unit == Material.Unit.G else "a volume"
    raise RecipeRefused(
        f"{material} has no {needed}, so it cannot be part of a mix. Edit the material."
    )


def mix_book(studio: Studio) -> MixBook:
    """Load a studio's recipes: three queries, however many there are."""
    parts: dict[Hashable, list[RecipePart]] = defaultdict(list)
    for part in RecipePart.objects.filter(recipe__studio=studio):
        parts[part.recipe_id].append(part)
    return MixBook(
        materials={material.pk: material for material in studio.materials.all()},
        recipes={recipe.pk: recipe for recipe in studio.recipes.all()},
        parts=parts,
    )
