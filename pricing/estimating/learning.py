"""What a studio's estimates rest on: common practice, and what its own pours taught it."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from django.db.models import Count, Max, Q

from pricing.estimating import coverage
from pricing.estimating.sizes import geometry
from pricing.models import Pour, PourLayer
from studio.errors import StudioError
from studio.models import Studio

# Noise and lengths are fitted anew after every tenth pour, on the last hundred: it takes longer
# than everything else, about a second for a hundred pours of three layers.
FIT_EVERY, FIT_ON = 10, 100


@dataclass(frozen=True)
class Hand:
    """An estimator, and by technique the shares of pours that were scraped back."""

    estimator: coverage.Estimator
    kept: dict[str, tuple[float, ...]]

    def run_off(self, technique: str) -> coverage.Fractions:
        """Return the `Fractions` of what is poured: kept, lost, and left on the piece."""
        return coverage.learn_fractions(technique, kept=self.kept.get(technique, ()))


def hand_of(studio: Studio | None = None) -> Hand:
    """Return the `Hand` of a studio, or that of common practice alone.

    It is worked out once for each state of the studio's pours and kept in this process. The state
    is read from the database each time, so another process's pour is seen at once.
    """
    if studio is None:
        return _hand(None, None)
    return _hand(studio.pk, _stamp(studio))


def estimator_for(studio: Studio | None = None) -> coverage.Estimator:
    """Return the estimator of a studio, or that of common practice alone."""
    return hand_of(studio).estimator


def learnt_layers(studio_id: int) -> list[PourLayer]:
    """Return the logged layers that the estimates learn from, oldest first."""
    layers = PourLayer.objects.filter(
        pour__studio=studio_id, pour__entry__reversed_by=None, pour__set_aside=""
    )
    layers = layers.select_related("pour__surface", "pour__technique")
    return list(layers.order_by("pour__poured_at", "pour", "pk"))


def observation(layer: PourLayer) -> coverage.Observation | None:
    """Return a logged layer as the estimator sees it, or None where there is nothing to learn.

    That is a layer its technique does not have, or one whose size is not a surface any more.
    """
    pour = layer.pour
    technique = pour.technique.slug
    if layer.layer not in coverage.LAYERS_OF[technique] or layer.poured_ml <= 0:
        return None
    try:
        area_mm2 = geometry(pour.surface).wetted_area_mm2
    except StudioError:
        return None
    return coverage.Observation(
        technique=technique,
        layer=layer.layer,
        wetted_area_mm2=area_mm2,
        volume_ml=float(layer.poured_ml) / pour.count,
        count=pour.count,
        label=f"{pour}, {pour.surface.name}",
        key=pour.pk,
    )


# Sixty-four studios' estimators are some tens of megabytes at most.
@lru_cache(maxsize=64)
def _hand(studio_id: int | None, stamp: tuple[object, ...] | None) -> Hand:
    layers = [] if studio_id is None else learnt_layers(studio_id)
    own = tuple(seen for seen in map(observation, layers) if seen)
    settings = _settings(_to_fit(own))
    estimator = coverage.Estimator([*coverage.common_practice(), *own], settings)
    return Hand(estimator, _kept(layers))


def _to_fit(own: tuple[coverage.Observation, ...]) -> tuple[coverage.Observation, ...]:
    """Return what the last hundred of whole tens of pours saw: every process fits alike."""
    pours = list(dict.fromkeys(seen.key for seen in own))
    chosen = set(pours[: len(pours) // FIT_EVERY * FIT_EVERY][-FIT_ON:])
    return tuple(seen for seen in own if seen.key in chosen)


@lru_cache(maxsize=64)
def _settings(own: tuple[coverage.Observation, ...]) -> coverage.Settings | None:
    return coverage.fit_settings([*coverage.common_practice(), *own]) if own else None


def _kept(layers: Iterable[PourLayer]) -> dict[str, tuple[float, ...]]:
    """Return, by technique, each pour's share scraped back; a pour without any was not measured."""
    kept: defaultdict[Pour, float] = defaultdict(float)
    poured: defaultdict[Pour, float] = defaultdict(float)
    for layer in layers:
        kept[layer.pour] += float(layer.kept_ml)
        poured[layer.pour] += float(layer.poured_ml)
    shares: defaultdict[str, list[float]] = defaultdict(list)
    for pour, volume_ml in kept.items():
        if volume_ml and poured[pour]:
            shares[pour.technique.slug].append(min(volume_ml / poured[pour], 1.0))
    return {technique: tuple(some) for technique, some in shares.items()}


def _stamp(studio: Studio) -> tuple[object, ...]:
    """Return what changes when a pour is logged, set aside or undone, or a size measured anew."""
    state = studio.pours.aggregate(
        logged=Count("pk"),
        counting=Count("pk", filter=Q(set_aside="", entry__reversed_by=None)),
        changed=Max("changed_at"),
        measured=Max("surface__changed_at"),
    )
    return tuple(state.values())
