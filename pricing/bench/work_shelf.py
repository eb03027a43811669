"""What the shelf still has as a day's work goes through it, first wanted, first served."""

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
class Taken:
    """So much out of one bottle or box, in its material's own unit."""

    bottle: Bottle
    quantity: Decimal


@dataclass
class Left:
    """What a bottle or box still has as the day goes on, in its material's own unit."""

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
        self.bottles: defaultdict[int, list[Left]] = defaultdict(list)
        wanted = studio.bottles.on_shelf().filter(
            material__kind__in=(Material.Kind.MIX, Material.Kind.SURFACE, Material.Kind.PACKAGING)
        )
        for bottle in wanted.in_issue_order().select_related("material", "batch"):
            if bottle.keeps_until is None or bottle.keeps_until >= day:
                self.bottles[bottle.material_id].append(Left(bottle, bottle.remaining))

    def ready(self, recipe_ids: Iterable[Hashable]) -> dict[Hashable, Decimal]:
        """Return {recipe: mL} of what is mixed of some recipes, and of the recipes in them."""
        inside = {one for recipe in recipe_ids for one in self.book.mixes_in(recipe)}
        there = {one: self._there(self.book.recipes[one].mix_id) for one in inside}
        return {recipe: ml for recipe, ml in there.items() if ml > 0}

    def mix(
        self, recipe_id: Hashable, volume_ml: Decimal
    ) -> tuple[list[Taken], dict[Material, Decimal]]:
        """Take a volume of a mix, [mL]: what is mixed already first, the rest of ingredients.

        Returns ([Taken], {material: quantity missing}).
        """
        used, fresh = self.book.draw(recipe_id, volume_ml, self.ready([recipe_id]))
        taken: list[Taken] = []
        for recipe, ml in used.items():
            from_bottles, _ = self.take_mix(recipe, ml)
            taken += from_bottles if recipe == recipe_id else []
        missing = {
            material: self.take(material.pk, quantity)[1]
            for material, quantity in fresh.items()
            if material.is_stocked
        }
        return taken, {material: quantity for material, quantity in missing.items() if quantity}

    def take_mix(self, recipe_id: Hashable, volume_ml: Decimal) -> tuple[list[Taken], Decimal]:
        """Take what is mixed of a recipe, [mL]; returns as `take` does."""
        mix_id = self.book.recipes[recipe_id].mix_id
        assert mix_id is not None  # there are bottles of it
        return self.take(mix_id, volume_ml)

    def take(self, material_id: int, quantity: Decimal) -> tuple[list[Taken], Decimal]:
        """Take a quantity of a material; returns ([Taken] from known bottles, what is missing)."""
        missing = max(quantity - max(self.free[material_id], ZERO), ZERO)
        self.free[material_id] -= quantity
        wanted, taken = quantity - missing, []
        for left in self.bottles[material_id]:
            part = min(left.quantity, wanted)
            if part > 0:
                taken.append(Taken(left.bottle, part))
                left.quantity -= part
                wanted -= part
        return taken, missing

    def _there(self, mix_id: int | None) -> Decimal:
        """How much of a mix is in bottles that keep and is not held for other work, [mL]."""
        if mix_id is None:  # never mixed yet
            return ZERO
        in_bottles = sum((left.quantity for left in self.bottles[mix_id]), ZERO)
        return min(in_bottles, max(self.free[mix_id], ZERO))
