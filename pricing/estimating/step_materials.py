"""What the steps around a pour use: primer, tape, varnish, feet.

Each is taken by the act that it goes with: what is done before the pour with the pour, sealing
under resin with the topcoat, the rest with the packing.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from decimal import ROUND_HALF_UP, Decimal

from django.db.models import Prefetch, QuerySet

from inventory.models import Material
from inventory.words import about
from pricing.estimating.layers import Need
from pricing.estimating.sizes import geometry
from pricing.estimating.surfaces import Surface
from pricing.models import LabourStep, SavedSurface
from studio.money import ZERO
from studio.units import QUANTITY_PLACES
from studio.units.numerals import trimmed

MM2_IN_A_M2 = 1_000_000


def all_steps() -> QuerySet[LabourStep]:
    """Return the steps with what they use, in one query."""
    return LabourStep.objects.select_related("material")


def with_steps(name: str = "technique__steps") -> Prefetch:
    """Return what loads the steps of techniques together with what they use."""
    return Prefetch(name, all_steps())


def amount_each(step: LabourStep, surface: Surface) -> Decimal:
    """Return how much of its material a step uses for one piece, in the material's own unit."""
    amount = step.amount
    if step.per == LabourStep.Per.FACE:
        amount *= Decimal(repr(surface.top_area_mm2)) / MM2_IN_A_M2
    return amount.quantize(QUANTITY_PLACES, ROUND_HALF_UP)


def amounts_used(
    steps: Iterable[LabourStep],
    act: str,
    surface: SavedSurface | Surface,
    pieces: int,
    *,
    coated: bool,
) -> dict[Material, Decimal]:
    """Return {material: amount} that the steps of an act use for so many pieces.

    ``act`` is pour, coat or pack; ``coated`` tells whether the pieces get resin.
    """
    plain = geometry(surface) if isinstance(surface, SavedSurface) else surface
    used: defaultdict[Material, Decimal] = defaultdict(lambda: ZERO)
    for step in steps:
        if step.material and step.is_for(coated) and step.used_with(coated) == act:
            used[step.material] += amount_each(step, plain) * pieces
    return dict(used)


def really_used(
    planned: Mapping[Material, Decimal], told: Mapping[Material, Decimal] | None
) -> dict[Material, Decimal]:
    """Return {material: amount} that steps used: as planned, or as somebody says who did them."""
    return {**planned, **(told or {})}


def use_in_words(step: LabourStep) -> str:
    """Say what a step uses, such as “4 × Cork foot each”; empty where nothing."""
    material = step.material
    if material is None:
        return ""
    if material.unit == Material.Unit.EACH:
        words = f"{trimmed(step.amount)} × {material}"
    else:
        words = f"{about(material, step.amount)} of {material}"
    return f"{words} each" if step.per == LabourStep.Per.PIECE else f"{words} for 1 m² of face"


def needs_of_steps(
    steps: Iterable[LabourStep], surface: SavedSurface | Surface, pieces: int, *, coated: bool
) -> dict[str, dict[Material, Need]]:
    """Return {act: {material: Need}} of all steps around so many pieces; nothing of it varies."""
    steps = list(steps)
    if not any(step.material_id for step in steps):
        return {}
    return {
        act: {
            material: Need(amount, amount, amount)
            for material, amount in amounts_used(steps, act, surface, pieces, coated=coated).items()
        }
        for act in ("pour", "coat", "pack")
    }
