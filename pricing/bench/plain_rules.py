"""What the two plain rules would have said of a pour, kept with it when it is logged."""

from collections import defaultdict
from collections.abc import Collection
from decimal import Decimal

from pricing.estimating import coverage
from pricing.estimating.enough import to_ml
from pricing.estimating.learning import observation
from pricing.estimating.sizes import geometry
from pricing.models import Pour, PourLayer, SavedSurface
from studio.errors import StudioError


def by_ounces(pour: Pour) -> Decimal:
    """Return 1 fl oz on 25 in² of all that a pour wets, [mL]."""
    return to_ml(coverage.ounce_rule(geometry(pour.surface).wetted_area_mm2) * pour.count)


def by_area(pour: Pour, layers: Collection[str]) -> dict[str, Decimal]:
    """Return {layer: mL} of a pour that is not logged yet, scaled by area from those that are.

    Each from the pour nearest in size that has it, the latest of those equally near; the first of
    its kind has none. A fixed number of queries.
    """
    seen = PourLayer.objects.filter(
        pour__in=pour.studio.pours.to_learn_from().filter(technique=pour.technique)
    )
    sizes = _sizes(pour, seen.order_by().values_list("layer", "pour__surface").distinct())
    piece = geometry(pour.surface).wetted_area_mm2
    said = {}
    for layer in layers:
        nearest = _nearest(sizes.get(layer, {}), coverage.size_of(piece))
        latest = seen.filter(layer=layer, pour__surface__in=nearest)
        latest = latest.select_related("pour__surface", "pour__technique")
        row = latest.order_by("-pour__poured_at", "-pour", "-pk").first() if nearest else None
        if row and (known := observation(row)):
            each = coverage.area_scaling([known], pour.technique.slug, layer, piece)
            said[layer] = to_ml(each * pour.count)
    return said


def _sizes(pour: Pour, pairs: Collection[tuple[str, int]]) -> dict[str, dict[int, float]]:
    """Return {layer: {surface: its size}}; what is no surface any more is left out."""
    surfaces = SavedSurface.objects.in_bulk({surface for _, surface in pairs})
    sizes: defaultdict[str, dict[int, float]] = defaultdict(dict)
    for layer, key in pairs:
        try:
            sizes[layer][key] = coverage.size_of(geometry(surfaces[key]).wetted_area_mm2)
        except StudioError:
            continue
    return sizes


def _nearest(sizes: dict[int, float], size: float) -> list[int]:
    away = {key: abs(one - size) for key, one in sizes.items()}
    least = min(away.values(), default=0.0)
    return [key for key, one in away.items() if one <= least + 1e-9]
