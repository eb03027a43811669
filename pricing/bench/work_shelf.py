"""The shelf as a day's work draws on it: what is due first takes first."""

from collections import defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.mixing.mix_book import mix_book
from inventory.models import Bottle, Material
from inventory.stock import holds
from pricing.models import Commission
from studio.models import Studio
from studio.money import ZERO


@dataclass(frozen=True)
class Portion:
    """An amount out of one bottle or box, in its material's own unit."""

    bottle: Bottle
    quantity: Decimal


@dataclass
class Remainder:
    """The amount still in a bottle or box as the day goes on, in its material's own unit."""

    bottle: Bottle
    quantity: Decimal


class WorkShelf:
    """The stock for some commissions: all there is but what covers the holds of other work.

    Reads six tables once; taking from it changes nothing but itself.
    """

    def __init__(self, studio: Studio, commissions: Iterable[Commission], day: date) -> None:
        self.book = mix_book(studio)
        own = {one.work_id for one in commissions}
        self.free = {pk: one.on_hand for pk, one in self.book.materials.items()}
        covered = holds.coverage(studio, list(self.book.materials.values()))
        for hold, amount in covered.items():
            if hold.work_id not in own:
                self.free[hold.material_id] -= amount
        self.bottles: defaultdict[int, list[Remainder]] = defaultdict(list)
        bottles = studio.bottles.on_shelf().filter(
            material__kind__in=(Material.Kind.MIX, Material.Kind.SURFACE, Material.Kind.PACKAGING)
        )
        for bottle in bottles.in_issue_order().select_related("material", "batch"):
            if bottle.keeps_until is None or bottle.keeps_until >= day:
                self.bottles[bottle.material_id].append(Remainder(bottle, bottle.remaining))

    def ready(self, recipe_ids: Iterable[Hashable]) -> dict[Hashable, Decimal]:
        """Return {recipe: mL} of what is mixed of some recipes, and of the recipes in them."""
        inside = {one for recipe in recipe_ids for one in self.book.mixes_in(recipe)}
        there = {one: self._available_ml(self.book.recipes[one].mix_id) for one in inside}
        return {recipe: ml for recipe, ml in there.items() if ml > 0}

    def mix(
        self, recipe_id: Hashable, volume_ml: Decimal
    ) -> tuple[list[Portion], dict[Material, Decimal]]:
        """Take a volume of a mix, [mL]: what is mixed already first, the rest of ingredients.

        Returns ([Portion], {material: quantity missing}).
        """
        from_mixes, fresh = self.book.draw(recipe_id, volume_ml, self.ready([recipe_id]))
        portions: list[Portion] = []
        for recipe, ml in from_mixes.items():
            from_bottles, _ = self.take_mix(recipe, ml)
            portions += from_bottles if recipe == recipe_id else []
        missing = {
            material: self.take(material.pk, quantity)[1]
            for material, quantity in fresh.items()
            if material.is_stocked
        }
        return portions, {material: quantity for material, quantity in missing.items() if quantity}

    def take_mix(self, recipe_id: Hashable, volume_ml: Decimal) -> tuple[list[Portion], Decimal]:
        """Take what is mixed of a recipe, [mL]; returns as `take` does."""
        mix_id = self.book.recipes[recipe_id].mix_id
        assert mix_id is not None  # there are bottles of it
        return self.take(mix_id, volume_ml)

    def take(self, material_id: int, quantity: Decimal) -> tuple[list[Portion], Decimal]:
        """Take a quantity of a material; returns ([Portion], what is missing)."""
        missing = max(quantity - max(self.free[material_id], ZERO), ZERO)
        self.free[material_id] -= quantity
        open_quantity, portions = quantity - missing, []
        for remainder in self.bottles[material_id]:
            part = min(remainder.quantity, open_quantity)
            if part > 0:
                portions.append(Portion(remainder.bottle, part))
                remainder.quantity -= part
                open_quantity -= part
        return portions, missing

    def _available_ml(self, mix_id: int | None) -> Decimal:
        """How much of a mix is in bottles that keep and is not held for other work, [mL]."""
        if mix_id is None:  # never mixed yet
            return ZERO
        in_bottles = sum((remainder.quantity for remainder in self.bottles[mix_id]), ZERO)
        return min(in_bottles, max(self.free[mix_id], ZERO))
