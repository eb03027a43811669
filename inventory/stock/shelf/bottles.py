"""The bottles of some materials, locked, changed in memory and written in one go."""

import re
import zoneinfo
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.contrib.auth.models import User
from django.db.models import QuerySet
from django.db.models.functions import Upper
from django.utils import timezone

from inventory.errors import BadAmount, NotInBottle, NotInStudio
from inventory.models import Bottle, Entry, Material, Movement
from inventory.stock.costing import Lot, issue, respread, share
from inventory.stock.shelf import day_uses, month_ends
from inventory.stock.shelf.rows import first_to_go, lock, settings, update
from studio.closing import booked_day
from studio.models import Studio
from studio.money import ZERO
from studio.numbering import next_numbers

if TYPE_CHECKING:
    from inventory.stock.ledger.amounts import Receipt

Kind = Movement.Kind
# It stands in addresses, on labels and in file names.
CODE = re.compile(r"[A-Za-z0-9_-]{1,12}")


class Shelf:
    """Holds the locks of one act on the stock, and every change it makes, until it is written.

    Materials are locked first, then bottles: those that were named, the first to go of each
    material that has an amount among ``quantities``, {material key: amount}, and under the
    moving average the others, once something came in. The lock on their material keeps all of them
    as they are.
    """

    def __init__(
        self,
        studio: Studio,
        material_ids: Iterable[int],
        bottle_ids: Iterable[int] = (),
        quantities: Mapping[int, Decimal] | None = None,
    ) -> None:
        self.materials = lock(studio, material_ids)
        # Read again: the costing method or the time zone may have been changed while this waited.
        (self.studio,) = settings(studio.pk)
        self.bottles: dict[int, Bottle] = {}
        self.movements: list[Movement] = []
        if bottle_ids := set(bottle_ids):
            self._keep(self._unread(pk__in=bottle_ids))
        if bottle_ids - self.bottles.keys():
            raise NotInStudio("There is no bottle like that in this studio.")
        if quantities:
            self._keep(first_to_go(quantities))

    def _unread(self, **which: Any) -> QuerySet[Bottle]:
        rows = Bottle.objects.select_for_update().filter(material__in=self.materials.keys())
        return rows.filter(**which).exclude(pk__in=self.bottles.keys()).order_by("pk")

    def _keep(self, rows: Iterable[Bottle]) -> None:
        for row in rows:
            if row.pk not in self.bottles:
                row.material = self.materials[row.material_id]
                self.bottles[row.pk] = row

    def bottle(self, bottle: Bottle) -> Bottle:
        """Return the locked row of a bottle."""
        return self.bottles[bottle.pk]

    def of(self, material_id: int) -> list[Bottle]:
        """Return those bottles of one material that were read."""
        return [row for row in self.bottles.values() if row.material_id == material_id]

    def move(self, kind: str, bottle: Bottle, quantity: Decimal, value: Decimal) -> None:
        """Change one bottle by signed amounts; the caller sees to it that none ends below zero.

        `write` puts away what ends empty, and back on the shelf what is filled again.
        """
        material = bottle.material
        bottle.remaining += quantity
        bottle.value += value
        material.on_hand += quantity
        material.value += value
        self.movements.append(
            Movement(
                studio=self.studio,
                bottle=bottle,
                material=material,
                kind=kind,
                quantity=quantity,
                value=value,
            )
        )

    def take_from(self, kind: str, bottle: Bottle, quantity: Decimal) -> None:
        """Take an amount out of one bottle at its own cost; the last of it takes all its value."""
        if quantity > bottle.remaining:
            raise NotInBottle(bottle, quantity)
        self.move(kind, bottle, -quantity, -share(bottle.value, quantity, bottle.remaining))

    def take(
        self, kind: str, material_id: int, quantity: Decimal, first: Iterable[Bottle] = ()
    ) -> None:
        """Take an amount of a material: from the bottles named first, then in the order of use.

        The amount is part of the ``quantities`` that the shelf was opened for.
        """
        named = [self.bottle(bottle) for bottle in first]
        part = min(quantity, sum((row.remaining for row in named), ZERO))
        for group, most in ((named, part), (self.of(material_id), quantity - part)):
            for key, amount, _ in issue([lot(row) for row in group], most) if most else ():
                self.take_from(kind, self.bottles[key], amount)

    def unit_gain(self, bottle: Bottle, quantity: Decimal) -> Decimal:
        """Return what an amount found in a bottle is worth: at the bottle's own unit value, else
        the material's average, else what the bottle cost when it came in."""
        for value, whole in (
            (bottle.value, bottle.remaining),
            (bottle.material.value, bottle.material.on_hand),
            self._came_in_at(bottle),
        ):
            if whole:
                return share(value, quantity, whole)
        return ZERO

    def _came_in_at(self, bottle: Bottle) -> tuple[Decimal, Decimal]:
        first = bottle.movements.filter(quantity__gt=0).order_by("pk").first()
        return (first.value, first.quantity) if first else (ZERO, ZERO)

    def new_bottles(self, receipts: Sequence["Receipt"], received_on: date) -> list[Bottle]:
        """Make an empty bottle, with a code, for each receipt; `move` fills it."""
        if not receipts:
            return []
        codes = self._codes(receipts)
        rows = [
            self._new_bottle(receipt, code, received_on)
            for receipt, code in zip(receipts, codes, strict=True)
        ]
        Bottle.objects.bulk_create(rows)
        self.bottles |= {row.pk: row for row in rows}
        return rows

    def _new_bottle(self, receipt: "Receipt", code: str, received_on: date) -> Bottle:
        material = self.materials[receipt.material.pk]
        pack = receipt.pack
        if pack is not None and (pack.studio_id, pack.material_id) != (self.studio.pk, material.pk):
            raise NotInStudio(f"There is no pack of {material} like that in this studio.")
        expires_on = receipt.expires_on
        if expires_on is None and material.shelf_life_days:
            expires_on = received_on + timedelta(days=material.shelf_life_days)
        return Bottle(
            studio=self.studio,
            material=material,
            pack=pack,
            code=code,
            capacity=max(receipt.capacity or ZERO, receipt.quantity),
            price_paid=receipt.price,
            tare_g=pack.tare_g if receipt.tare_g is None and pack else receipt.tare_g,
            density_g_per_ml=receipt.density_g_per_ml,
            place=receipt.place,
            colours=receipt.colours,
            received_on=received_on,
            expires_on=expires_on,
            opened_on=receipt.opened_on,
        )

    def _codes(self, receipts: Sequence["Receipt"]) -> list[str]:
        """Return a code for each receipt: its own, or the next free number.

        A code is kept in capitals, since it is found in capitals or not.
        """
        own = [receipt.code.strip().upper() if receipt.code else None for receipt in receipts]
        own_codes = [code for code in own if code]
        bottles = self.studio.bottles.annotate(capitals=Upper("code"))
        codes_in_use = set(bottles.filter(capitals__in=own_codes).values_list("code", flat=True))
        if (
            codes_in_use
            or len(set(own_codes)) < len(own_codes)
            or not all(map(CODE.fullmatch, own_codes))
        ):
            names = ", ".join(sorted(codes_in_use)) or "A code"
            raise BadAmount(
                f"{names} cannot be used: give each bottle its own code of at most 12 letters and "
                "digits."
            )
        free: list[str] = []
        while len(own_codes) + len(free) < len(receipts):
            missing = len(receipts) - len(own_codes) - len(free)
            new_codes = [f"B{number:04}" for number in next_numbers(self.studio, "bottle", missing)]
            used = set(bottles.filter(capitals__in=new_codes).values_list("capitals", flat=True))
            free += [code for code in new_codes if code not in used and code not in own_codes]
        numbered = iter(free)
        return [code or next(numbered) for code in own]

    def open(self, bottle: Bottle, day: date) -> None:
        """Note the day a bottle was opened; what keeps for less once opened now expires sooner."""
        bottle.opened_on = day
        if bottle.material.opened_life_days:
            last = day + timedelta(days=bottle.material.opened_life_days)
            bottle.expires_on = min(bottle.expires_on or last, last)

    def level(self) -> None:
        """Under the moving average, bring the bottles of whatever came in to the average cost."""
        if self.studio.costing_in_force != Studio.Costing.MOVING_AVERAGE:
            return
        came_in = [
            move for move in self.movements if move.quantity > 0 or move.kind == Kind.REVERSAL
        ]
        self.respread({move.material_id for move in came_in})

    def respread(self, material_ids: Collection[int]) -> None:
        """Bring the bottles of materials to their average cost; their value in all stays."""
        if material_ids:
            self._keep(self._unread(material__in=material_ids, remaining__gt=0))
        for material_id in sorted(material_ids):
            rows = [row for row in self.of(material_id) if row.remaining or row.value]
            for key, change in respread([lot(row) for row in rows]):
                self.move(Kind.RESPREAD, self.bottles[key], ZERO, change)

    def write(
        self,
        *,
        by: User | None,
        happened_at: datetime,
        why: str,
        purpose: str,
        reverses: Entry | None = None,
    ) -> Entry:
        """Write the entry, its movements and the caches they change.

        It is booked on the first open day, where the month of its own is closed.
        """
        day = local_day(self.studio, happened_at)
        entry = Entry(
            studio=self.studio,
            by=by,
            happened_at=happened_at,
            booked_on=booked_day(self.studio, day),
            was_past=any(_is_past(move, day) for move in self.movements),
            why=why,
            purpose=purpose,
            reverses=reverses,
        )
        entry.save()
        for movement in self.movements:
            movement.entry = entry
        Movement.objects.bulk_create(self.movements)
        changed = {movement.bottle_id: movement.bottle for movement in self.movements}
        for bottle in changed.values():
            emptied_at = bottle.archived_at or entry.recorded_at
            bottle.archived_at = None if bottle.remaining else emptied_at
        fields = ["remaining", "value", "opened_on", "expires_on", "archived_at", "has_silicone"]
        update(Bottle, changed.values(), fields)
        moved = {movement.material_id: movement.material for movement in self.movements}
        update(Material, moved.values(), ["on_hand", "value"])
        day_uses.count(self.studio, happened_at, self.movements)
        month_ends.add(self.studio, entry.booked_on, self.movements)
        return entry


def _is_past(move: Movement, day: date) -> bool:
    """Tell whether something is thrown away after the last day that it keeps."""
    last = move.bottle.keeps_until
    return move.kind == Kind.WASTE and last is not None and last < day


def lot(bottle: Bottle) -> Lot[int]:
    """Return a bottle as the costing arithmetic sees it."""
    return Lot(bottle.pk, bottle.remaining, bottle.value, bottle.expires_on, bottle.received_on)


def local_day(studio: Studio, moment: datetime) -> date:
    """Return the date of a moment on the studio's own wall clock."""
    return timezone.localtime(moment, zoneinfo.ZoneInfo(studio.time_zone)).date()
