"""What the planner's form asks for, worked out."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Count, Max
from django.utils import timezone

from inventory.models import Material, with_promises
from pricing.estimating.answers import PieceEstimate
from pricing.estimating.estimates import estimate
from pricing.estimating.layers import Need
from pricing.models import Palette
from studio.models import Studio

LATELY = timedelta(days=365)


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


def usual_palette(studio: Studio) -> Palette | None:
    """Return the palette poured most often in the last year, else the first kept; None without."""
    lately = studio.pours.standing().filter(poured_at__gt=timezone.now() - LATELY)
    counted = lately.filter(palette__archived_at=None).values("palette")
    counted = counted.annotate(times=Count("pk"), last=Max("poured_at"))
    most = counted.order_by("-times", "-last", "palette").first()
    rows = studio.palettes.filter(archived_at=None)
    return rows.get(pk=most["palette"]) if most else rows.order_by("pk").first()


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
