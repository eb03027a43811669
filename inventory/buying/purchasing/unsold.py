"""Why nobody sells something, and what would change that."""

from collections import defaultdict
from collections.abc import Sequence

from inventory.buying.reordering import PlanProblem, Words
from inventory.models import Pack
from studio.models import Studio


def unsold_notes(studio: Studio, materials: Sequence[int], words: Words) -> list[str]:
    """Return sentences on materials, by key, that no pack on offer holds: first those without any
    pack, then each whose packs cannot be bought now."""
    packs_by_material: defaultdict[int, list[Pack]] = defaultdict(list)
    packs = studio.packs.filter(material__in=materials).select_related("material", "supplier")
    for pack in packs.order_by("-is_on_offer", "supplier__name", "size", "pk"):
        packs_by_material[pack.material_id].append(pack)
    without = [key for key in materials if key not in packs_by_material]
    notes = [str(PlanProblem.nobody_sells(without, words))] if without else []
    return notes + [
        _why(packs_by_material[key][0]) for key in materials if key in packs_by_material
    ]


def _why(pack: Pack) -> str:
    reason = f"Nobody sells {pack.material} now: {pack} from {pack.supplier}"
    if pack.supplier.archived_at:
        return (
            f"{reason} cannot be bought, since {pack.supplier} was archived. Bring it back, or add "
            "a pack of another supplier."
        )
    if not pack.is_on_offer:
        return f"{reason} is marked as not sold. Mark it as sold again, or add another pack."
    return f"{reason} has no price. Give it one, or add another pack."
