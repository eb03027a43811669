"""One bottle at a time: weigh, count, throw away, send back, open."""

from datetime import date, datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from inventory.errors import BadAmount, NotWeighable
from inventory.models import Bottle, Entry, Material
from inventory.stock.ledger.amounts import Kind, StockMove
from inventory.stock.ledger.posting import post
from inventory.stock.locks import open_shelf
from inventory.stock.shelf import Shelf
from inventory.validators import checked_quantity, checked_time
from studio.models import Studio


@transaction.atomic
def weigh_in(
    *,
    studio: Studio,
    by: User,
    bottle: Bottle,
    gross_g: Decimal,
    happened_at: datetime | None = None,
    why: str = "",
    purpose: str = "Weighed in",
) -> Entry | None:
    """Set what is left in a bottle by its weight on the scale, [g]; returns the entry, or None when
    the weight agrees.

    What is left is ``(gross - tare) / density``, or ``gross - tare`` for what is counted in grams.
    The difference is posted at the bottle's own unit value, and what is found in an empty bottle at
    the material's average.
    """
    shelf = open_shelf(studio, [bottle.material_id], [bottle.pk])
    row = shelf.bottle(bottle)
    return _settle(shelf, row, contents(row, gross_g), by, happened_at, why, purpose)


@transaction.atomic
def recount(
    *,
    studio: Studio,
    by: User,
    bottle: Bottle,
    quantity: Decimal,
    happened_at: datetime | None = None,
    why: str = "",
    purpose: str = "Counted",
) -> Entry | None:
    """Set what is left in a bottle or box as counted or measured by hand; as `weigh_in`."""
    shelf = open_shelf(studio, [bottle.material_id], [bottle.pk])
    row = shelf.bottle(bottle)
    counted = checked_quantity(row.material, quantity)
    return _settle(shelf, row, counted, by, happened_at, why, purpose)


def contents(bottle: Bottle, gross_g: Decimal) -> Decimal:
    """Return what a bottle holds by its gross weight, [g], in its material's own unit.

    Raises `NotWeighable` when it is counted in items, when its tare or density is not known, or
    when it weighs less than the empty bottle.
    """
    material = bottle.material
    if material.unit == Material.Unit.EACH:
        raise NotWeighable(f"{material} is counted in items: count it instead.")
    if bottle.tare is None:
        raise NotWeighable(
            f"The weight of the empty bottle {bottle.code} is not known. Give it on the bottle, or "
            f"on {material} for all its bottles."
        )
    if not isinstance(gross_g, Decimal) or not gross_g.is_finite() or not 0 <= gross_g <= 1_000_000:
        raise BadAmount("A weight is a number of grams, from 0 to 1,000,000.")
    net_g = gross_g - bottle.tare
    if net_g < 0:
        raise NotWeighable(
            f"{gross_g.normalize():f} g is less than the empty bottle {bottle.code}, "
            f"{bottle.tare.normalize():f} g. Weigh again, or correct its tare."
        )
    if material.unit == Material.Unit.G:
        return checked_quantity(material, net_g)
    if not bottle.density:
        raise NotWeighable(
            f"The density of {material} is not known. Weigh a measured volume, and give its weight "
            "in grams divided by its volume in mL."
        )
    return checked_quantity(material, net_g / bottle.density)


def _settle(
    shelf: Shelf,
    bottle: Bottle,
    counted: Decimal,
    by: User,
    happened_at: datetime | None,
    why: str,
    purpose: str,
) -> Entry | None:
    difference = counted - bottle.remaining
    if not difference:
        return None
    if difference > 0:
        gain = shelf.unit_gain(bottle, difference)
        shelf.move(Kind.WEIGH_IN, bottle, difference, gain)
    else:
        shelf.take_from(Kind.WEIGH_IN, bottle, -difference)
    shelf.level()
    return shelf.write(by=by, happened_at=checked_time(happened_at), why=why, purpose=purpose)


def waste(
    *,
    studio: Studio,
    by: User,
    bottle: Bottle,
    quantity: Decimal,
    why: str = "",
    happened_at: datetime | None = None,
    purpose: str = "Thrown away",
) -> Entry:
    """Throw some of a bottle away, at its own cost; returns the entry."""
    return _out_of(Kind.WASTE, bottle, quantity, studio, by, happened_at, why, purpose)


def send_back(
    *,
    studio: Studio,
    by: User,
    bottle: Bottle,
    quantity: Decimal,
    why: str = "",
    happened_at: datetime | None = None,
    purpose: str = "Sent back",
) -> Entry:
    """Send some of a bottle back to its supplier, at its own cost; returns the entry."""
    return _out_of(Kind.RETURN, bottle, quantity, studio, by, happened_at, why, purpose)


def _out_of(
    kind: str,
    bottle: Bottle,
    quantity: Decimal,
    studio: Studio,
    by: User,
    happened_at: datetime | None,
    why: str,
    purpose: str,
) -> Entry:
    quantity = checked_quantity(bottle.material, quantity, above_zero=True)
    move = StockMove(kind=kind, material=bottle.material, quantity=-quantity, bottle=bottle)
    return post(
        studio=studio, by=by, moves=[move], happened_at=happened_at, why=why, purpose=purpose
    )


@transaction.atomic
def open_bottle(*, bottle: Bottle, day: date) -> Bottle:
    """Note the day a bottle was opened; what keeps for less once opened now expires sooner."""
    shelf = open_shelf(bottle.studio, [bottle.material_id], [bottle.pk])
    row = shelf.bottle(bottle)
    if day < row.received_on:
        raise BadAmount(f"{row.code} came in later than that. Give the day it was opened.")
    shelf.open(row, day)
    row.save(update_fields=["opened_on", "expires_on"])
    return row
