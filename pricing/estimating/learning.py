"""What a studio's estimates rest on: common practice, and what its own pours taught it."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery

from pricing.estimating import coverage
from pricing.estimating.advice import face_film_mm
from pricing.estimating.sizes import geometry
from pricing.models import HandMemory, Pour, PourLayer, SavedSurface
from studio.errors import StudioError
from studio.models import Studio

# A pour is asked about where it is more likely a slip than not.
SLIP_FROM = 0.5
# A page looks at so many pours at most; only a worker that is behind leaves it more.
MOST = coverage.WINDOW + 20


@dataclass(frozen=True)
class Hand:
    """An estimator, and by technique the shares of pours that were scraped back, and lost."""

    estimator: coverage.Estimator
    kept: dict[str, tuple[tuple[float, float], ...]]
    keepings: dict[str, coverage.Keeping] = field(default_factory=dict)

    def run_off(self, technique: str) -> coverage.Fractions:
        """Return the `Fractions` of what is poured: kept, lost, and left on the piece."""
        pours = self.kept.get(technique, ())
        kept, lost = [one for one, _ in pours], [one for _, one in pours]
        return coverage.learn_fractions(technique, kept=kept, lost=lost)

    def keeping(self, technique: str) -> coverage.Keeping:
        """Return the `Keeping`: what is kept of what is mixed, as the logs have it."""
        return self.keepings.get(technique) or coverage.learn_keeping(technique)


def slip_in(pour: Pour, hand: Hand) -> bool:
    """Tell whether a pour of a studio's hand is more likely a slip, and nobody has said yet."""
    if pour.set_aside or pour.amounts_are_right or hasattr(pour.entry, "reversed_by"):
        return False
    return hand.estimator.slips().get(pour.pk, 0.0) > SLIP_FROM


def hand_of(studio: Studio | None = None) -> Hand:
    """Return the `Hand` of a studio, or that of common practice alone.

    It rests on what `remembering` keeps of the pours, and on those since; nothing is fitted here.
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
    return list(layers_of(Pour.objects.filter(studio=studio_id).to_learn_from()))


def layers_of(pours: QuerySet[Pour]) -> QuerySet[PourLayer]:
    """Return the layers of pours, oldest first."""
    layers = PourLayer.objects.filter(pour__in=pours.values("pk"))
    layers = layers.select_related("pour__surface", "pour__technique")
    return layers.order_by("pour__poured_at", "pour_id", "pk")


def recall(studio_id: int) -> tuple[coverage.Memory, Q]:
    """Return what is kept of a studio's pours, and which pours came after its state."""
    rows = HandMemory.objects.filter(studio=studio_id, model=coverage.model())
    row = rows.select_related("last").first()
    if row is None:
        return coverage.Memory(), Q()
    memory, last = coverage.unpacked(bytes(row.memory)), row.last
    if last is None:
        return memory, Q()
    return memory, Q(poured_at__gt=last.poured_at) | Q(poured_at=last.poured_at, pk__gt=last.pk)


def observation(layer: PourLayer) -> coverage.Observation | None:
    """Return a logged layer as the estimator sees it, or None where there is nothing to learn.

    That is a layer its technique does not have, or one whose size is not a surface any more.
    """
    pour = layer.pour
    technique = pour.technique.slug
    if layer.layer not in coverage.LAYERS_OF[technique] or layer.poured_ml <= 0:
        return None
    try:
        piece = geometry(pour.surface)
    except StudioError:
        return None
    return coverage.Observation(
        technique=technique,
        layer=layer.layer,
        wetted_area_mm2=piece.wetted_area_mm2,
        volume_ml=float(layer.poured_ml) / pour.count,
        count=pour.count,
        label=f"{pour}, {pour.surface.name}",
        key=pour.pk,
        side_share=piece.side_area_mm2 / piece.wetted_area_mm2,
        base=pour.base,
        sure=pour.amounts_are_right,
    )


# Sixty-four studios' estimators are some tens of megabytes at most.
@lru_cache(maxsize=64)
def _hand(studio_id: int | None, stamp: tuple[object, ...] | None) -> Hand:
    layers: list[PourLayer] = []
    memory = coverage.Memory()
    if studio_id is not None:
        memory, after = recall(studio_id)
        pours = Pour.objects.filter(after, studio=studio_id).to_learn_from()
        layers = list(layers_of(pours.order_by("-poured_at", "-pk")[:MOST]))
    own = [seen for seen in map(observation, layers) if seen]
    estimator = coverage.Estimator([*coverage.common_practice(), *own], memory=memory)
    return Hand(estimator, _scraped_shares(layers), _keepings(layers))


def _scraped_shares(layers: Iterable[PourLayer]) -> dict[str, tuple[tuple[float, float], ...]]:
    """Return, by technique, each pour's shares scraped back and lost, as far as its log tells."""
    volumes: defaultdict[Pour, float] = defaultdict(float)
    poured: defaultdict[Pour, float] = defaultdict(float)
    for layer in layers:
        volumes[layer.pour] += float(layer.kept_ml)
        poured[layer.pour] += float(layer.poured_ml)
    shares: defaultdict[str, list[tuple[float, float]]] = defaultdict(list)
    for pour, volume_ml in volumes.items():
        if poured[pour] > 0 and (film_mm := _face_film_mm(pour, poured[pour])):
            slug = pour.technique.slug
            shares[slug].append(coverage.shed(slug, min(volume_ml / poured[pour], 1.0), film_mm))
    return {technique: tuple(some) for technique, some in shares.items()}


def _face_film_mm(pour: Pour, poured_ml: float) -> float | None:
    """Return the film on the faces of a pour if nothing had run off; None on no surface."""
    try:
        piece = geometry(pour.surface)
    except StudioError:
        return None
    return face_film_mm(poured_ml / pour.count, piece.top_area_mm2, piece.side_area_mm2)


def _keepings(layers: Iterable[PourLayer]) -> dict[str, coverage.Keeping]:
    """Return, by technique, what pours kept of their layers; those that kept nothing count too."""
    pours: defaultdict[Pour, dict[str, coverage.KeptLayer]] = defaultdict(dict)
    for one in layers:
        if one.poured_ml > 0:
            from_bottles = float(one.from_mixes_ml / one.mixed_ml)
            scraped = min(float(one.kept_ml / one.poured_ml), 1.0)
            pours[one.pour][one.layer] = coverage.KeptLayer(from_bottles, scraped)
    logs: defaultdict[str, list[dict[str, coverage.KeptLayer]]] = defaultdict(list)
    for pour, kept in pours.items():
        logs[pour.technique.slug].append(kept)
    return {technique: coverage.learn_keeping(technique, some) for technique, some in logs.items()}


def _stamp(studio: Studio) -> tuple[object, ...]:
    """Return what changes when a pour is logged, left out or undone, a size measured anew, or what
    is kept of the pours renewed.
    """
    here = {"studio": OuterRef("pk")}
    latest = [
        rows.filter(**here).order_by(f"-{moment}").values(moment)[:1]
        for rows, moment in (
            (Pour.objects, "changed_at"),
            (SavedSurface.objects, "changed_at"),
            (HandMemory.objects, "read_at"),
        )
    ]
    pours = Pour.objects.filter(**here).order_by().values("studio")
    logged = pours.annotate(logged=Count("pk")).values("logged")
    asked = [Subquery(rows) for rows in (*latest, logged)]
    return tuple(Studio.objects.filter(pk=studio.pk).values_list(*asked).get())
