"""Pour from one bottle into another of the same material, or into a new one."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal

from django.contrib.auth.models import User
from django.db import transaction

from inventory.errors import BadAmount, DecantRefused
from inventory.models import Bottle, Entry
from inventory.stock.ledger.amounts import Kind, Receipt
from inventory.stock.locks import open_shelf
from inventory.stock.shelf import Shelf, local_day
from inventory.validators import checked_quantity, checked_time
from inventory.words import amount
from studio.models import Studio
from studio.text import shortened

DENSITY_PLACES = Decimal("0.0001")


@dataclass(frozen=True)
class Vessel:
    """A new container to pour into: its code, the next free one if not said; what it holds when
    full, in the material's unit; its weight empty, [g]; where it will stand, where its source does
    if not said."""

    code: str = ""
    capacity: Decimal | None = None
    tare_g: Decimal | None = None
    place: str = ""


@transaction.atomic
def decant(
    *,
    studio: Studio,
    by: User,
    bottle: Bottle,
    into: Bottle | Vessel,
    quantity: Decimal | None = None,
    over_capacity: bool = False,
    happened_at: datetime | None = None,
    why: str = "",
    purpose: str = "",
) -> Entry:
    """Pour from a bottle into another of the same material, or into a new one; returns the entry.

    The value goes along by share, and the last of a bottle takes all that is left of it, so that
    nothing is made or lost; it is no use, and promises stay as they are. Both bottles count as
    opened now at the latest, and what was poured together keeps until the sooner of the two days.
    An undone pouring leaves these days as they are.

    Parameters
    ----------
    bottle : Bottle
        Where it comes from; left empty, it is archived.
    into : Bottle or Vessel
        Where it goes.
    quantity : Decimal, optional
        How much, [the material's unit]; all of it if not said.
    over_capacity : bool
        That the bottle takes more than was known; what it then holds is its capacity from now on.

    Raises `DecantRefused` for another material, the bottle itself, an empty source or too little
    room; `NotInBottle`, `BadAmount`, `NotInStudio` as elsewhere.
    """
    happened_at = checked_time(happened_at)
    targets = [] if isinstance(into, Vessel) else [_key(bottle, into)]
    shelf = open_shelf(studio, [bottle.material_id], [bottle.pk, *targets])
    source = shelf.bottle(bottle)
    quantity = _asked(source, quantity)
    if isinstance(into, Vessel):
        target = _new_bottle(shelf, source, into, quantity)
    else:
        target = shelf.bottle(into)
    _refuse_overflow(target, quantity, over_capacity)
    was_empty = not target.remaining
    _carry_over(shelf, source, target, quantity, local_day(studio, happened_at))
    shelf.take_from(Kind.DECANT, source, quantity)
    shelf.move(Kind.DECANT, target, quantity, -shelf.movements[-1].value)
    target.capacity = max(target.capacity, target.remaining)
    target.has_silicone = source.has_silicone or (target.has_silicone and not was_empty)
    shelf.level()
    purpose = purpose or f"Poured from {source.code} into {target.code}"
    entry = shelf.write(by=by, happened_at=happened_at, why=why, purpose=purpose)
    target.save(update_fields=["capacity", "density_g_per_ml", "colours"])
    return entry


def _key(bottle: Bottle, into: Bottle) -> int:
    """Return the key of the bottle to pour into, once it is known to go together with the other."""
    if into.pk == bottle.pk:
        raise DecantRefused(f"{bottle.code} cannot be poured into itself. Choose another bottle.")
    if into.material_id != bottle.material_id:
        raise DecantRefused(
            f"{into.code} is for {into.material} and {bottle.code} holds {bottle.material}. Pour "
            "together only what is the same; mix others as a batch."
        )
    return into.pk


def _asked(source: Bottle, quantity: Decimal | None) -> Decimal:
    if not source.remaining:
        raise DecantRefused(f"{source.code} is empty: there is nothing to pour.")
    if quantity is None:
        return source.remaining
    return checked_quantity(source.material, quantity, above_zero=True)


def _new_bottle(shelf: Shelf, source: Bottle, vessel: Vessel, quantity: Decimal) -> Bottle:
    """Make the bottle to pour into; what is in it came when its source did."""
    material = source.material
    capacity = quantity
    if vessel.capacity is not None:
        capacity = checked_quantity(material, vessel.capacity, above_zero=True)
    if vessel.tare_g is not None and vessel.tare_g < 0:
        raise BadAmount("The empty bottle weighs 0 g or more.")
    receipt = Receipt(
        material=material,
        quantity=capacity,
        value=None,
        code=vessel.code or None,
        tare_g=vessel.tare_g,
        place=vessel.place or source.place,
        density_g_per_ml=source.density_g_per_ml,
        expires_on=source.keeps_until,
        colours=source.colours,
    )
    (bottle,) = shelf.new_bottles([receipt.checked()], source.received_on)
    return bottle


def _refuse_overflow(target: Bottle, quantity: Decimal, over_capacity: bool) -> None:
    room = target.capacity - target.remaining
    if quantity > room and not over_capacity:
        holds = amount(target.material, target.capacity)
        raise DecantRefused(
            f"{target.code} holds {holds} when full and has room for "
            f"{amount(target.material, max(room, Decimal(0)))}, not for "
            f"{amount(target.material, quantity)}. Pour less, or say that it takes more."
        )


def _carry_over(shelf: Shelf, source: Bottle, target: Bottle, quantity: Decimal, day: date) -> None:
    """Let the target take on the days and the density of what is poured into it."""
    was_empty = not target.remaining
    target.density_g_per_ml = _mixed_density(source, target, quantity)
    names = [source.colours] if was_empty else [target.colours, source.colours]
    target.colours = shortened("; ".join(dict.fromkeys(filter(None, names))), 120)
    if was_empty:  # what the old content was is gone with it
        target.opened_on, target.expires_on = None, source.keeps_until
    ends = [day for day in (source.keeps_until, target.keeps_until) if day]
    target.expires_on = min(ends, default=None)
    if source.material.unit == source.material.Unit.EACH:
        return
    for row in (source, target):
        if row.opened_on is None:
            shelf.open(row, day)


def _mixed_density(source: Bottle, target: Bottle, quantity: Decimal) -> Decimal | None:
    """Return the density of what is together in the target, [g/mL]; None if it is the material's.

    Masses and volumes of one material add up, so it is the mean by volume.
    """
    if not target.remaining or source.density_g_per_ml == target.density_g_per_ml:
        return source.density_g_per_ml
    if not (source.density and target.density):
        return target.density_g_per_ml
    mass = source.density * quantity + target.density * target.remaining
    return (mass / (quantity + target.remaining)).quantize(DENSITY_PLACES, ROUND_HALF_UP)
