"""What the planner's form asks for, worked out."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inventory.models import Material, with_promises
from pricing.estimating.answers import PieceEstimate
from pricing.estimating.estimates import estimate
from pricing.estimating.layers import Need
from studio.models import Studio


def plan_of(studio: Studio, data: dict[str, Any]) -> PieceEstimate:
    """Return the estimate that a planner's form asks for."""
    return estimate(
        studio,
        data["size"],
        data["technique"].slug,
        data["count"],
        palette=data["palette"],
        topcoat=data["topcoat"],
        base=data["base"],
    )


@dataclass(frozen=True)
class Shelved:
    """A material of a plan, what it takes of it, and what is free on the shelf; [its unit]."""

    material: Material
    need: Need
    free: Decimal | None  # None where it is not counted, such as water

    @property
    def is_short(self) -> bool:
        """Whether the shelf has less than is to be mixed."""
        return self.free is not None and self.free < self.need.to_mix


def shelved(piece: PieceEstimate) -> list[Shelved]:
    """Return the materials of a plan beside what is there of them and promised to nobody."""
    keys = [material.pk for material in piece.materials if material.is_stocked]
    there = with_promises(Material.objects.all()).in_bulk(keys)
    return [
        Shelved(material, need, there[material.pk].available if material.pk in there else None)
        for material, need in piece.materials.items()
    ]
