"""The estimator of a studio: common practice, and what its own pours taught it."""

from functools import lru_cache

from django.db.models import Count, Max, Q

from pricing import coverage
from pricing.models import PourLayer


def estimator_for(studio=None):
    """Return the estimator of a studio, or that of common practice alone.

    It is worked out once for each state of the studio's pours and kept in this process. The state
    is read from the database each time, so another process's pour is seen at once.
    """
    if studio is None:
        return _estimator(None, None)
    return _estimator(studio.pk, _stamp(studio))


def own_observations(studio_id):
    """Return what a studio's pours took, layer by layer, for one piece each."""
    layers = (
        PourLayer.objects.filter(
            pour__studio=studio_id, pour__entry__reversed_by=None, pour__set_aside=""
        )
        .select_related("pour__surface", "pour__technique")
        .order_by("pour__poured_at", "pk")
    )
    return [_observation(layer) for layer in layers]


def _observation(layer):
    pour = layer.pour
    return coverage.Observation(
        surface=pour.surface.geometry(),
        technique=pour.technique.slug,
        layer=layer.layer,
        volume_ml=float(layer.poured_ml) / pour.count,
        label=str(pour),
    )


# Sixty-four studios' estimators are a few megabytes.
@lru_cache(maxsize=64)
def _estimator(studio_id, stamp):
    own = [] if studio_id is None else own_observations(studio_id)
    return coverage.Estimator([*coverage.common_practice(), *own])


def _stamp(studio):
    """Return what changes when a pour is logged, set aside or undone, or a size measured anew."""
    state = studio.pours.aggregate(
        logged=Count("pk"),
        counting=Count("pk", filter=Q(set_aside="", entry__reversed_by=None)),
        changed=Max("changed_at"),
        measured=Max("surface__changed_at"),
    )
    return tuple(state.values())
