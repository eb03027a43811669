"""What the last steps use before pieces are packed: varnish, feet, cork."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal

from inventory.models import Material
from pricing.estimating.step_materials import all_steps, amounts_used, really_used
from pricing.models import FinishedPiece, LabourStep, Pour, Topcoating
from studio.money import ZERO


def used_to_finish(
    pieces: Iterable[FinishedPiece], told: Mapping[Material, Decimal] | None = None
) -> dict[Material, Decimal]:
    """Return {material: amount} that pieces take before they are packed, in three queries.

    Each as its own technique says, or of a material as is ``told``, for all pieces together.
    """
    counts = Counter(piece.pour_id for piece in pieces)
    pours = Pour.objects.filter(pk__in=counts).select_related("surface")
    coats = Topcoating.objects.standing().filter(pour__in=counts)
    coated = set(coats.values_list("pour", flat=True))
    steps: defaultdict[int, list[LabourStep]] = defaultdict(list)
    for step in all_steps().filter(technique__pours__in=counts).distinct():
        steps[step.technique_id].append(step)
    planned: defaultdict[Material, Decimal] = defaultdict(lambda: ZERO)
    for pour in pours:
        used = amounts_used(
            steps[pour.technique_id],
            "pack",
            pour.surface,
            counts[pour.pk],
            coated=pour.pk in coated,
        )
        for material, amount in used.items():
            planned[material] += amount
    return really_used(planned, told)
