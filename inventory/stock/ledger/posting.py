"""Entries that move stock: the general one, and the two mostly asked for, receive and use."""

from collections import defaultdict
from collections.abc import Container, Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from inventory.errors import BadAmount, StockShortfall
from inventory.models import Bottle, Delivery, Entry, Material, Work
from inventory.models.movement import DRAWS_DOWN, FOR_WORK, MADE_OF_WHAT_WENT
from inventory.stock import holds
from inventory.stock.costing import apportion, as_much_of, run_off_value
from inventory.stock.ledger.amounts import Kind, Receipt, StockMove
from inventory.stock.locks import open_shelf
from inventory.stock.shelf import Shelf, local_day
from inventory.validators import checked_time
from studio.models import Studio
from studio.money import ZERO


@transaction.atomic
def post(
    *,
    studio: Studio,
    by: User,
    moves: Iterable[StockMove],
    uncounted: Iterable[Material] = (),
    work: Work | None = None,
    ignore_holds: bool = False,
    happened_at: datetime | None = None,
    received_on: date | None = None,
    why: str = "",
    purpose: str = "",
) -> Entry:
    """Move stock in one entry, all or nothing; returns the entry.

    ``moves`` are `StockMove`; ``uncounted`` are the materials that went in beside them, such as tap
    water, of which no stock is kept. Uses leave alone what is held for other work than
    ``work``, whose own holds are drawn down, unless ``ignore_holds``. What each layer of a pour
    took is ``took`` of the entry that is returned. Raises `StockShortfall` naming every material
    that is short, `BadAmount` for amounts that cannot be, `NotInBottle`, `NotInStudio`.
    """
    happened_at = checked_time(happened_at)
    moves = [move for move in (move.checked() for move in moves) if move.quantity]
    named = [bottle for move in moves for bottle in (*move.first, move.bottle) if bottle]
    shelf = open_shelf(
        studio,
        [move.material.pk for move in moves],
        [bottle.pk for bottle in named],
        quantities=_totals([move for move in moves if not move.bottle], set(Kind)),
    )
    for move in moves:
        if any(shelf.bottle(each).material_id != move.material.pk for each in _bottles_of(move)):
            raise BadAmount(f"A bottle that was named does not hold {move.material}.")
    _refuse_shortfall(shelf, moves, work, ignore_holds)
    day = received_on or local_day(studio, happened_at)
    new = iter(shelf.new_bottles([m.new_bottle for m in moves if m.new_bottle], day))
    took: dict[str, Decimal] = defaultdict(lambda: ZERO)
    for move in moves:
        if move.quantity > 0:
            bottle = shelf.bottle(move.bottle) if move.bottle else next(new)
            _bring_in(shelf, move, bottle, took)
        else:
            _take_out(shelf, move, day, took)
    _pass_on(shelf, uncounted)
    shelf.level()
    entry = shelf.write(by=by, happened_at=happened_at, why=why, purpose=purpose)
    entry.took = dict(took)
    if work is not None:
        used = _totals(moves, DRAWS_DOWN)
        holds.draw_down(
            work=work,
            used={shelf.materials[pk]: quantity for pk, quantity in used.items()},
        )
    return entry


@transaction.atomic
def receive(
    *,
    studio: Studio,
    by: User,
    receipts: Iterable[Receipt],
    delivery: Mapping[str, Any] | None = None,
    kind: str = Kind.RECEIPT,
    happened_at: datetime | None = None,
    received_on: date | None = None,
    why: str = "",
    purpose: str = "",
) -> Entry:
    """Bring bottles in, one for each `Receipt`; returns the entry.

    ``kind`` is a receipt, or opening stock. ``delivery`` holds the fields of a `Delivery` that the
    entry belongs to; the bottles then name it.
    """
    receipts = list(receipts)
    if not receipts:
        raise BadAmount("Say what came in: at least one bottle.")
    entry = post(
        studio=studio,
        by=by,
        moves=[
            StockMove(kind=kind, material=each.material, quantity=each.quantity, new_bottle=each)
            for each in receipts
        ],
        happened_at=happened_at,
        received_on=received_on,
        why=why,
        purpose=purpose,
    )
    if delivery is not None:
        delivery_row = Delivery.objects.create(studio=studio, entry=entry, **delivery)
        bottles = entry.movements.filter(kind=kind).values("bottle")
        studio.bottles.filter(pk__in=bottles).update(delivery=delivery_row)
    return entry


def use(
    *,
    studio: Studio,
    by: User,
    amounts: Mapping[Material, Decimal],
    bottles: Mapping[Material, Iterable[Bottle]] | None = None,
    work: Work | None = None,
    ignore_holds: bool = False,
    happened_at: datetime | None = None,
    why: str = "",
    purpose: str = "",
) -> Entry:
    """Take {material: amount} off the shelf for work; returns the entry.

    Bottles that expire first go first, then those that came first; ``bottles``, {material: [bottle,
    …]}, go before all others. What is not counted, such as tap water, is passed over. Raises as
    `post` does; then nothing is taken.
    """
    named = {material.pk: tuple(some) for material, some in (bottles or {}).items()}
    if not amounts:
        raise BadAmount("Say what was used.")
    return post(
        studio=studio,
        by=by,
        moves=[
            StockMove(
                kind=Kind.USE,
                material=material,
                quantity=-quantity,
                first=named.get(material.pk, ()),
            )
            for material, quantity in amounts.items()
            if material.is_stocked
        ],
        work=work,
        ignore_holds=ignore_holds,
        happened_at=happened_at,
        why=why,
        purpose=purpose,
    )


def _bottles_of(move: StockMove) -> list[Bottle]:
    return [bottle for bottle in (*move.first, move.bottle) if bottle]


def _totals(moves: Iterable[StockMove], kinds: Container[str]) -> dict[int, Decimal]:
    totals: defaultdict[int, Decimal] = defaultdict(lambda: ZERO)
    for move in moves:
        if move.quantity < 0 and move.kind in kinds:
            totals[move.material.pk] -= move.quantity
    return dict(totals)


def _refuse_shortfall(
    shelf: Shelf, moves: Iterable[StockMove], work: Work | None, ignore_holds: bool
) -> None:
    """Name everything that is short, at once: what work may not have, what is not there."""
    for_work, out = _totals(moves, FOR_WORK), _totals(moves, set(Kind))
    if ignore_holds:
        for_work = {}
    short = holds.shortages_of(shelf.studio, shelf.materials, for_work, work) if for_work else []
    named = {each.material.pk for each in short}
    for pk, quantity in out.items():
        on_hand = shelf.materials[pk].on_hand
        if pk not in named and quantity > on_hand:
            short.append(
                holds.Shortage(shelf.materials[pk], quantity, on_hand, quantity - on_hand, on_hand)
            )
    if short:
        raise StockShortfall(short)


def _bring_in(shelf: Shelf, move: StockMove, bottle: Bottle, took: dict[str, Decimal]) -> None:
    value = move.value
    if move.kind == Kind.RECLAIM:
        counts = shelf.studio.run_off_value != Studio.RunOffValue.NOTHING
        if move.instead_of:
            value = as_much_of(move.instead_of, move.run_off, took)
        value = run_off_value(move.run_off, took, value) if counts else ZERO
    elif value is None and move.kind == Kind.MIX:
        value = -sum(
            (movement.value for movement in shelf.movements if movement.kind == Kind.MIX), ZERO
        )
    elif value is None:
        value = shelf.unit_gain(bottle, move.quantity)
    shelf.move(move.kind, bottle, move.quantity, value)


def _pass_on(shelf: Shelf, uncounted: Iterable[Material]) -> None:
    """Let what was made take on of what went in: silicone, and the first day any of it ends."""
    made = [
        movement.bottle
        for movement in shelf.movements
        if movement.kind in MADE_OF_WHAT_WENT and movement.quantity > 0
    ]
    if not made:
        return
    went = [movement.bottle for movement in shelf.movements if movement.quantity < 0]
    has_silicone = any(one.holds_silicone for one in went)
    has_silicone = has_silicone or any(material.has_silicone for material in uncounted)
    ends = [
        day for one in went if one.material.unit != Material.Unit.EACH and (day := one.keeps_until)
    ]
    for bottle in made:
        bottle.has_silicone = bottle.has_silicone or has_silicone
        if days := [day for day in (bottle.expires_on, *ends) if day]:
            bottle.expires_on = min(days)


def _take_out(shelf: Shelf, move: StockMove, day: date, took: dict[str, Decimal]) -> None:
    before = len(shelf.movements)
    if move.bottle:
        shelf.take_from(move.kind, shelf.bottle(move.bottle), -move.quantity)
    else:
        shelf.take(move.kind, move.material.pk, -move.quantity, move.first)
    if move.kind in FOR_WORK and move.material.unit != "each":
        for movement in shelf.movements[before:]:
            if movement.bottle.opened_on is None:
                shelf.open(movement.bottle, day)
    if move.layers:
        value = -sum((movement.value for movement in shelf.movements[before:]), ZERO)
        parts = apportion(value, list(move.layers.values()))
        for layer, part in zip(move.layers, parts, strict=True):
            took[layer] += part
