"""One bottle of a count: weighed or counted, left out, put back. Its difference is posted at once.

Materials are locked before the count, and the count before its lines.
"""

from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from inventory.errors import CountRefused, NotInStudio, SurprisingCount
from inventory.models import Bottle, Entry, ShelfCount, ShelfCountLine
from inventory.stock import ledger as stock
from inventory.stock.costing import is_far_off, is_overfull
from inventory.stock.counts.sessions import locked_open
from inventory.stock.locks import lock_materials
from inventory.validators import checked_quantity
from inventory.words import amount
from studio.money import ZERO
from studio.units import QUANTITY_PLACES


@transaction.atomic
def record(
    *,
    count: ShelfCount,
    by: User,
    bottle: Bottle,
    gross_g: Decimal | None = None,
    quantity: Decimal | None = None,
    confirmed: bool = False,
) -> ShelfCountLine:
    """Weigh a bottle, [g], or count or measure it, in its material's unit; returns its line.

    The difference is posted in the same transaction as `stock.weigh_in` or `stock.recount` do. A
    bottle that is not on the list is added to it. The same number sent again changes nothing.
    Raises `SurprisingCount`, unless ``confirmed``, when it is far from the books or above what the
    bottle holds; `CountRefused` when it was done with another number; `NotWeighable`, `BadAmount`.
    """
    if (gross_g is None) == (quantity is None):
        raise CountRefused("Give what the scale shows or what was counted, one of them.")
    count, line = _locked_line(count, bottle)
    row = line.bottle
    if gross_g is not None:
        stock.contents(row, gross_g)
        gross_g = gross_g.quantize(QUANTITY_PLACES)
        counted = stock.contents(row, gross_g)
    else:
        assert quantity is not None  # one of them was given
        counted = checked_quantity(row.material, quantity)
    if not line.is_waiting:
        if (line.counted, line.gross_g) == (counted, gross_g):
            return line
        raise CountRefused(f"{_what_was_done(line)} Put it back to weigh it again.")
    if not confirmed:
        _refuse_surprise(row, counted, on_scale=gross_g is not None)
    line.expected, line.expected_value = row.remaining, row.value
    studio, purpose = count.studio, str(count)
    if gross_g is not None:
        line.entry = stock.weigh_in(
            studio=studio, by=by, bottle=row, gross_g=gross_g, purpose=purpose
        )
    else:
        line.entry = stock.recount(
            studio=studio, by=by, bottle=row, quantity=counted, purpose=purpose
        )
    line.gross_g, line.counted = gross_g, counted
    return _done(line, by)


@transaction.atomic
def leave_out(*, count: ShelfCount, by: User, bottle: Bottle, why: str) -> ShelfCountLine:
    """Leave a bottle out of a count, for a reason that stays on its list; returns its line."""
    why = why.strip()
    if not why:
        raise CountRefused("Say why it is left out, such as “not found” or “lent out”.")
    if len(why) > 200:
        raise CountRefused("Say why in up to 200 characters.")
    count, line = _locked_line(count, bottle)
    if not line.is_waiting:
        if line.left_out == why:
            return line
        raise CountRefused(f"{_what_was_done(line)} Put it back first.")
    line.expected, line.expected_value = line.bottle.remaining, line.bottle.value
    line.left_out = why
    return _done(line, by)


@transaction.atomic
def put_back(*, count: ShelfCount, by: User, bottle: Bottle, why: str = "") -> ShelfCountLine:
    """Let a bottle wait again: what was posted is undone, and both stay on record; returns the line
    that now waits.

    Raises `CannotReverse` when what was found has been used since.
    """
    line = _live_line(count, bottle)
    if line is None or line.is_waiting:
        raise CountRefused(f"{bottle.code} waits to be weighed already.")
    if not count.is_open:
        locked_open(count)
    if line.entry:  # locks the material before the count
        purpose = f"Put back in {str(count).lower()}"
        stock.reverse(studio=count.studio, by=by, entry=line.entry, purpose=purpose, why=why)
        locked_open(count)
    else:
        locked_open(count)
        line.refresh_from_db()
        if line.undone_at is None:
            _supersede(line, by)
    return _live_line(count, bottle) or line


def wait_again(entry: Entry, by: User) -> None:
    """Let a bottle of an open count wait again when its entry is undone, wherever that is done."""
    line = ShelfCountLine.objects.live().filter(entry=entry).first()
    if line is None:
        return
    count = ShelfCount.objects.select_for_update().get(pk=line.count_id)
    if count.is_open:
        _supersede(line, by)


def _supersede(line: ShelfCountLine, by: User) -> None:
    line.undone_at, line.undone_by = timezone.now(), by
    line.save(update_fields=["undone_at", "undone_by"])
    ShelfCountLine.objects.create(
        count_id=line.count_id, bottle_id=line.bottle_id, position=line.position, place=line.place
    )


def _live_line(count: ShelfCount, bottle: Bottle) -> ShelfCountLine | None:
    lines = count.lines.live().select_related("bottle__material", "entry", "by")
    return lines.filter(bottle=bottle).first()


def _locked_line(count: ShelfCount, bottle: Bottle) -> tuple[ShelfCount, ShelfCountLine]:
    """Return the open count, locked, and its line of a bottle as the books have it now."""
    if bottle.studio_id != count.studio_id:
        raise NotInStudio("There is no bottle like that in this studio.")
    lock_materials(count.studio, [bottle.material_id])
    count = locked_open(count)
    line = _live_line(count, bottle)
    if line is None:
        last = count.lines.aggregate(last=Max("position"))["last"] or 0
        line = ShelfCountLine(count=count, bottle=bottle, position=last + 1, place=bottle.place)
        line.bottle = count.studio.bottles.select_related("material").get(pk=bottle.pk)
    return count, line


def _done(line: ShelfCountLine, by: User) -> ShelfCountLine:
    line.by, line.at = by, timezone.now()
    line.save()
    return line


def _what_was_done(line: ShelfCountLine) -> str:
    who = f" by {line.by}" if line.by else ""
    if line.left_out:
        return f"{line.bottle.code} was left out{who}: “{line.left_out}”."
    counted = amount(line.bottle.material, line.counted or ZERO)
    return f"{line.bottle.code} was counted already{who}: {counted}."


def _refuse_surprise(bottle: Bottle, counted: Decimal, on_scale: bool) -> None:
    def write(quantity: Decimal) -> str:
        return amount(bottle.material, quantity) if quantity else "nothing"

    question = (
        f"Is it {bottle.code}, on an empty scale, lid on?" if on_scale else f"Is it {bottle}?"
    )
    again = f"{'Weigh' if on_scale else 'Count'} it again, or say that it is right."
    if is_overfull(counted, bottle.capacity):
        sentence = (
            f"That would be {write(counted)}, and {bottle.code} holds {write(bottle.capacity)} "
            f"when full. {again}"
        )
    elif is_far_off(bottle.remaining, counted, bottle.capacity):
        sentence = (
            f"That would be {write(counted)}, and the books say {write(bottle.remaining)}. "
            f"{question} {again}"
        )
    else:
        return
    raise SurprisingCount(sentence, bottle=bottle, expected=bottle.remaining, counted=counted)
