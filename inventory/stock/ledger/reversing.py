"""Undo an entry by its mirror image; both stay on record."""

from collections import defaultdict
from collections.abc import Callable, Sequence
from datetime import datetime
from decimal import Decimal
from functools import partial

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q

from inventory.errors import CannotReverse, NotInStudio
from inventory.models import Bottle, Entry, Movement
from inventory.stock.costing import is_out_of_line, share
from inventory.stock.ledger.amounts import Kind
from inventory.stock.locks import open_shelf
from inventory.stock.shelf import Shelf, cost_of, day_uses
from inventory.validators import checked_time
from inventory.words import amount, listed
from studio.dates import in_full as day
from studio.models import Studio
from studio.money import ZERO
from studio.text import shortened

# What follows when an entry is undone, in the same transaction: each takes the entry and who undid
# it, and may refuse. Whatever an entry can be of adds its own as the apps start.
followers: list[Callable[[Entry, User], None]] = []
# What is locked before the stock is, since every act locks in that order: each takes the entry.
lockers: list[Callable[[Entry], None]] = []


@transaction.atomic
def reverse(
    *,
    studio: Studio,
    by: User,
    entry: Entry,
    why: str = "",
    happened_at: datetime | None = None,
    purpose: str = "",
) -> Entry:
    """Undo an entry, once, by mirror movements; returns the new entry.

    Raises `CannotReverse` when it was undone before, when it is itself a reversal, or when what it
    brought in has been used since, or its cost as part of the average, so that what is left would
    be worth much less or more than it cost; the sentence names the bottles. Under the moving
    average the bottles are brought level again afterwards. Holds that the entry drew down stay as
    they are: the work they are for promises anew what it needs.
    """
    for lock in lockers:
        lock(entry)
    locked_entry = studio.entries.select_for_update().filter(pk=entry.pk).first()
    if locked_entry is None:
        raise NotInStudio("There is no entry like that in this studio.")
    entry = locked_entry
    moves = list(entry.movements.all())
    shelf = open_shelf(studio, {m.material_id for m in moves}, {m.bottle_id for m in moves})
    _refuse_second_time(entry)
    _refuse_levelling(moves)
    before = {key: (row.value, row.on_hand) for key, row in shelf.materials.items()}
    for move in moves:
        shelf.move(Kind.REVERSAL, shelf.bottles[move.bottle_id], -move.quantity, -move.value)
    _refuse_used(shelf, moves)
    shelf.level()
    _refuse_spent_value(shelf, moves, before)
    reversal = shelf.write(
        by=by,
        happened_at=checked_time(happened_at),
        why=why,
        purpose=purpose or shortened(f"Undone: {entry}", 80),
        reverses=entry,
    )
    day_uses.count(shelf.studio, entry.happened_at, moves, undone=True)
    for follow in followers:
        follow(entry, by)
    return reversal


def _refuse_second_time(entry: Entry) -> None:
    if entry.reverses_id:
        raise CannotReverse("This entry undoes another one. Record anew what really happened.")
    before = Entry.objects.filter(reverses=entry).first()
    if before is not None:
        raise CannotReverse(f"“{entry}” was undone already, on {day(before.recorded_at)}.")


def _refuse_levelling(moves: Sequence[Movement]) -> None:
    if moves and all(move.kind == Kind.RESPREAD for move in moves):
        raise CannotReverse(
            "This entry brought the bottles to their average cost when the costing method changed. "
            "It stays; the method can be changed again, from a day on."
        )


def _refuse_used(shelf: Shelf, moves: Sequence[Movement]) -> None:
    """Refuse when a bottle no longer holds what the entry brought in."""
    used = []
    for bottle in shelf.bottles.values():
        if bottle.remaining < 0:
            quantity_in = sum(
                (move.quantity for move in moves if move.bottle_id == bottle.pk), ZERO
            )
            left = bottle.remaining + quantity_in
            write = partial(amount, bottle.material)
            used.append(
                f"{bottle.code} {bottle.material} has {write(left)} left of the "
                f"{write(quantity_in)} that came in"
            )
    if used:
        raise CannotReverse(
            f"What came in has been used since: {listed(used)}. Undo what used it first, or count "
            "the bottle and throw the rest away."
        )


def _refuse_spent_value(
    shelf: Shelf, moves: Sequence[Movement], before: dict[int, tuple[Decimal, Decimal]]
) -> None:
    """Refuse when the cost of what came in has gone out with other stock or stayed with it."""
    stuck = [
        bottle
        for bottle in shelf.bottles.values()
        if bottle.value < 0 or (bottle.value and not bottle.remaining)
    ]
    stuck = stuck or _out_of_line(shelf, moves, before)
    if stuck:
        names = listed([f"{bottle.code} {bottle.material}" for bottle in stuck])
        raise CannotReverse(
            f"The cost of what came in has been used since, as part of the average or a count: "
            f"{names} would be left with the wrong value. Undo what came later first, or count "
            "what came in as empty, so that it goes out at what it is worth now."
        )


def _out_of_line(
    shelf: Shelf, moves: Sequence[Movement], before: dict[int, tuple[Decimal, Decimal]]
) -> list[Bottle]:
    """Return the bottles that would be left with a value that they cannot have cost.

    That is a matter of what went out, or was found, after the stock came in: it was valued with its
    cost in the average. Where nothing did, undoing it leaves just what was there without it.
    """
    value_in: dict[int, Decimal] = defaultdict(lambda: ZERO)
    for move in moves:
        value_in[move.material_id] += move.quantity
    left = defaultdict(list)
    for bottle in shelf.bottles.values():
        if bottle.remaining and value_in[bottle.material_id] > 0:
            left[bottle.material_id].append(bottle)
    if not left:
        return []
    valued = Q(quantity__lt=0) | Q(kind=Kind.WEIGH_IN)
    since = Movement.objects.filter(valued, material__in=left, pk__gt=moves[-1].pk)
    since = since.filter(entry__reversed_by=None, entry__reverses=None).exclude(kind=Kind.DECANT)
    stuck = []
    for material_id in since.order_by().values_list("material", flat=True).distinct():
        costs = cost_of(left[material_id])
        bottles = [bottle for bottle in left[material_id] if bottle.pk in costs]
        if not bottles:
            continue
        on_hand = sum((bottle.remaining for bottle in bottles), ZERO)
        worth = sum((bottle.value for bottle in bottles), ZERO)
        average = share(before[material_id][0], on_hand, before[material_id][1])
        if is_out_of_line(worth, sum(costs.values(), ZERO), average):
            stuck += bottles
    return stuck
