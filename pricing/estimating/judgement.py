"""What a practitioner would say of an estimate, each with the number and the limit behind it."""

from collections.abc import Sequence
from datetime import datetime

from django.db.models import Q

from inventory.models import Material
from pricing.estimating import advice, coverage
from pricing.estimating.layers import LayerEstimate
from pricing.estimating.learning import Hand
from pricing.estimating.sizes import geometry
from pricing.estimating.surfaces import Surface
from pricing.models import Pour, SavedSurface
from studio.errors import in_words


def judge(
    hand: Hand,
    surface: Surface,
    technique: str,
    layers: Sequence[LayerEstimate],
    count: int,
    *,
    under_resin: bool = False,
) -> tuple[advice.Advice, ...]:
    """Return the advice on the paint of ``count`` equal pieces, past its limit or not.

    ``hand`` is what the estimate rests on (`learning.Hand`); how much of what is poured
    stays on the piece is taken from it.
    """
    poured = {layer.layer: float(layer.median_ml) / count for layer in layers}
    total, wetted_mm2 = sum(poured.values()), surface.wetted_area_mm2
    found = [
        advice.short_of_sides(total, wetted_mm2),
        advice.crazing(total * hand.run_off(technique).on_piece, wetted_mm2),
        advice.thin_colours(poured["colours"], poured["base"]),
    ]
    outside = next((layer.layer for layer in layers if layer.outside_measured), None)
    if outside:
        known = hand.estimator.measured_range(technique, outside)
        found.append(advice.outside_measured(surface.radius_mm, *known))
    if under_resin:
        silicone = {
            material.name
            for layer in layers
            for material in layer.materials
            if material.has_silicone
        }
        found.append(advice.silicone_under_topcoat(sorted(silicone)))
    return tuple(found)


def judge_topcoat(pour: Pour, hand: Hand, at: datetime) -> tuple[advice.Advice, ...]:
    """Return the advice on resin over a pour at a time: whether its film has dried long enough,
    and whether silicone went into it.

    The film is what was poured of all layers, less the run-off the studio's hand sheds, over the
    wetted area; ``hand`` is the studio's `pricing.estimating.learning.Hand`.
    """
    film_mm = film_left_mm(pour, hand)
    days = max((at - pour.poured_at).total_seconds() / 86_400, 0.0)
    return (
        advice.early_topcoat(round(days, 1), film_mm),
        advice.silicone_under_topcoat(silicone_in(pour)),
    )


def film_left_mm(pour: Pour, hand: Hand) -> float:
    """Return the mean wet film that a pour left on its pieces, [mm]."""
    poured_ml = sum(float(layer.poured_ml) for layer in pour.layers.all()) / pour.count
    stays_ml = poured_ml * hand.run_off(pour.technique.slug).on_piece
    return advice.film_mm(stays_ml, geometry(pour.surface).wetted_area_mm2)


def film_expected_mm(surface: SavedSurface, technique: str, hand: Hand) -> float:
    """Return the mean wet film that a piece of a size is expected to keep, [mm]."""
    area_mm2 = geometry(surface).wetted_area_mm2
    with in_words(coverage.CoverageError):
        forecasts = hand.estimator.forecasts(technique, area_mm2, 1)
    poured_ml = sum(float(one.median) for one in forecasts.values())
    return advice.film_mm(poured_ml * hand.run_off(technique).on_piece, area_mm2)


def judge_base(pour: Pour) -> tuple[advice.Advice, ...]:
    """Return the advice on the mixes and the run-off that went into a pour's base coat."""
    mixes = Q(material__kind=Material.Kind.MIX) & (
        Q(material__recipe=None) | Q(material__recipe=pour.palette.base_id)
    )
    return (advice.silicone_in_base(silicone_in(pour, mixes)),)


def silicone_in(pour: Pour, of: Q | None = None) -> list[str]:
    """Return the names of what a pour took that contains silicone, in one query."""
    taken = pour.entry.movements.filter(of or Q(), quantity__lt=0).select_related(
        "bottle__material"
    )
    found = (move.bottle for move in taken if move.bottle.holds_silicone)
    return sorted({str(one) if one.has_silicone else one.material.name for one in found})
