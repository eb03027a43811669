"""The costing method changes from a day on, and what was posted before stays as it was."""

from datetime import date

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from inventory.errors import CostingRefused
from inventory.models import CostingChange, Entry
from inventory.stock.shelf import Shelf, local_day
from studio.dates import in_full as day
from studio.models import Studio

CACHED = ("costing", "costing_next", "costing_next_from")


@transaction.atomic
def change_costing(*, studio: Studio, by: User, method: str, from_day: date) -> CostingChange:
    """Cost stock by another method from today or a later day on; returns the `CostingChange`.

    One dated today takes effect at once, one dated ahead with the first act on the stock from its
    day on. Under the moving average every bottle is then brought to its material's average, in one
    entry that moves value and makes none. To FIFO, each bottle keeps the value it has, which is its
    cost from then on. Raises `CostingRefused` for a day that is past or before the last recorded
    movement's, for the method that is in force anyway, and while another change waits.
    """
    row = _locked(studio)
    method = Studio.Costing(method)
    waiting = row.costing_changes.waiting().first()
    if waiting:
        raise CostingRefused(
            f"{waiting.get_method_display()} already follows from {day(waiting.from_day)} on. "
            "Withdraw that change first."
        )
    if method == row.costing:
        raise CostingRefused(f"{method.label} is in force already.")
    earliest = _earliest(row)
    if from_day < earliest:
        raise CostingRefused(
            f"What was posted up to {day(earliest)} stays as it was costed. Choose that day or a "
            "later one."
        )
    change = CostingChange.objects.create(
        studio=row, before=row.costing, method=method, from_day=from_day, by=by
    )
    row.costing_next, row.costing_next_from = method, from_day
    if row.costing_is_due:
        _take_effect(row, change)
    _save(row, studio)
    return change


@transaction.atomic
def withdraw_costing_change(*, change: CostingChange) -> CostingChange:
    """Take back a change before its day; returns it. From its day on it stays."""
    studio = change.studio
    row = _locked(studio)
    change = row.costing_changes.get(pk=change.pk)
    if change.withdrawn_at:
        raise CostingRefused("This change was withdrawn already.")
    if change.took_effect_at:
        raise CostingRefused(
            f"{change.get_method_display()} has been in force since {day(change.from_day)}. Change "
            "the method again from today or a later day on."
        )
    change.withdrawn_at = timezone.now()
    change.save(update_fields=["withdrawn_at"])
    row.costing_next, row.costing_next_from = "", None
    _save(row, studio)
    return change


@transaction.atomic
def take_effect(*, studio: Studio) -> None:
    """Let a change that has reached its day take effect; does nothing where none has."""
    _tell(studio, _locked(studio))


def _locked(studio: Studio) -> Studio:
    """Lock the studio against other changes and bring it up to date.

    The lock leaves room for rows that name the studio: an act that holds a material may be about to
    write some, while this waits for the material.
    """
    row = Studio.objects.select_for_update(no_key=True).get(pk=studio.pk)
    if row.costing_is_due:
        _take_effect(row, row.costing_changes.waiting().get())
        row.save(update_fields=CACHED)
    return row


def _take_effect(studio: Studio, change: CostingChange) -> None:
    """Make the method of a change the studio's, and bring the bottles level if it is the average.

    The caller saves the studio.
    """
    studio.costing, studio.costing_next, studio.costing_next_from = change.method, "", None
    if change.method == Studio.Costing.MOVING_AVERAGE:
        change.entry = _level_all(studio, change)
    change.took_effect_at = timezone.now()
    change.save(update_fields=["entry", "took_effect_at"])


def _level_all(studio: Studio, change: CostingChange) -> Entry | None:
    materials = studio.materials.filter(bottles__remaining__gt=0).distinct()
    shelf = Shelf(studio, materials.values_list("pk", flat=True))
    shelf.respread(shelf.materials)
    if not shelf.movements:
        return None
    return shelf.write(
        by=change.by,
        happened_at=timezone.now(),
        why="Every bottle at the average cost of its material.",
        purpose=f"Moving average from {day(change.from_day)}",
    )


def _earliest(studio: Studio) -> date:
    """Return the first day a change may take effect: today, or the last movement's day if later."""
    last = studio.entries.aggregate(last=Max("happened_at"))["last"]
    return max(studio.today(), local_day(studio, last)) if last else studio.today()


def _save(row: Studio, studio: Studio) -> None:
    row.save(update_fields=CACHED)
    _tell(studio, row)


def _tell(studio: Studio, row: Studio) -> None:
    """Copy the costing fields to the caller's own object of the studio, read before the change."""
    for name in CACHED:
        setattr(studio, name, getattr(row, name))
