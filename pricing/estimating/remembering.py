"""Keep what a studio's pours taught, so that no page learns it anew.

A pour that is logged, left out or undone, or a size that is measured anew, puts it in line. What
changed among the last pours is looked at with them; where one did whose teaching has entered the
state already, the state is built again from the first pour on.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import groupby, islice
from typing import Any

from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.db.models.signals import post_save
from django.dispatch import receiver
from django.utils import timezone
from django_tasks import task

from pricing.estimating import coverage
from pricing.estimating.learning import layers_of, observation, recall
from pricing.models import HandMemory, Pour, SavedSurface
from studio import jobs
from studio.models import Studio

# So many pours are learnt from in one job; where there are more, another goes on.
AT_ONCE = 2000
# What was written before a reading may have been committed after it, by so much.
OVERLAP = timedelta(minutes=1)


def learn_hand(*, studio: Studio) -> bool:
    """Learn from a studio's pours since it was done last, and keep it; return whether that is all.

    It is worked out before anything is written, so that nobody waits for it; of two at once the one
    that read later stands.
    """
    read_at, pours = timezone.now(), studio.pours.to_learn_from()
    memory, after = recall(studio.pk)
    if memory.state.pours and _changed(studio.pours.exclude(after)):
        entered = _observed(pours.exclude(after))
        if coverage.digest_of(entered) != memory.digest:
            memory, after = coverage.Memory(), Q()
    waiting = _observed(pours.filter(after))
    memory = coverage.caught_up(memory, islice(waiting, AT_ONCE + coverage.WINDOW))
    _keep(studio, memory, read_at)
    return next(waiting, None) is None


@transaction.atomic
def _keep(studio: Studio, memory: coverage.Memory, read_at: datetime) -> None:
    Studio.objects.select_for_update(no_key=True).get(pk=studio.pk)  # two take turns
    if HandMemory.objects.filter(studio=studio, read_at__gt=read_at).exists():
        return
    HandMemory.objects.update_or_create(
        studio=studio,
        defaults={
            "memory": coverage.packed(memory),
            "model": coverage.model(),
            "last_id": memory.through,
            "read_at": read_at,
        },
    )


def _changed(pours: QuerySet[Pour]) -> bool:
    """Tell whether some of a studio's pours, or their sizes, may have changed since last read."""
    since = F("studio__hand_memory__read_at") - OVERLAP
    return pours.filter(Q(changed_at__gt=since) | Q(surface__changed_at__gt=since)).exists()


def _observed(pours: QuerySet[Pour]) -> Iterator[list[coverage.Observation]]:
    """Yield what each of some pours teaches, oldest first, without holding them all."""
    layers = layers_of(pours).iterator(chunk_size=1000)
    for _, some in groupby(layers, key=lambda layer: layer.pour_id):
        if seen := [one for one in map(observation, some) if one]:
            yield seen


@task()
def learn(studio_id: int) -> None:
    """Learn from the pours of a studio, if it is still there."""
    studio = Studio.objects.filter(pk=studio_id, restoring=None).first()
    if studio is not None and not learn_hand(studio=studio):
        jobs.enqueue(learn, studio_id)


def learn_all() -> None:
    """Put it in line for every studio of whose pours nothing is kept, such as after an upgrade."""
    kept = HandMemory.objects.filter(model=coverage.model()).values("studio")
    poured = Pour.objects.exclude(studio__in=kept).filter(studio__restoring=None)
    for key in poured.order_by().values_list("studio", flat=True).distinct():
        jobs.enqueue(learn, key)


@receiver(post_save, sender=Pour)
@receiver(post_save, sender=SavedSurface)
def _learn_later(instance: Pour | SavedSurface, raw: bool = False, **kwargs: Any) -> None:
    jobs.enqueue(learn, instance.studio_id)
