"""Holds: stock promised to work, first promised first served.

A hold may exceed what is on hand; alerts and the purchase plan then say so. What is on hand is
shared out once, in the order of the promises, so two works never count on the same millilitre.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

from django.db import transaction
from django.utils import timezone

from inventory.errors import NotInStudio
from inventory.models import Hold, HoldChange, Material, Work
from inventory.stock.locks import lock_materials
from inventory.stock.shelf.compiled import compiled
from inventory.validators import checked_quantity
from inventory.words import amount, listed
from studio.models import Studio
from studio.money import ZERO

Kind = HoldChange.Kind
_open_of = compiled(lambda *materials: Hold.objects.open().filter(material__in=materials))


@dataclass(frozen=True)
class Shortage:
    """A material that is short: how much of it a work needs, and what is there, in its own unit.

    ``available`` is what is on hand and promised to nobody else; ``promised`` are (label, amount)
    pairs of the work that counts on the rest.
    """

    material: Material
    quantity: Decimal
    available: Decimal
    missing: Decimal
    on_hand: Decimal
    promised: tuple[tuple[str, Decimal], ...] = ()

    @property
    def sentence(self) -> str:
        """What is short, by how much, what is on hand and what of it is promised to whom."""
        write = partial(amount, self.material)
        text = (
            f"{self.material} is {write(self.missing)} short: {write(self.quantity)} is wanted and "
            f"{write(self.on_hand)} is on hand"
        )
        if self.promised:
            names = [
                f"{write(quantity)} is promised to {label}" for label, quantity in self.promised
            ]
            text += f", of which {listed(names)}"
        return text + "."


@transaction.atomic
def hold(
    *, work: Work, label: str, needs: Mapping[Material, Decimal], needed_by: date | None = None
) -> list[Hold]:
    """Promise stock to one piece of work, in place of whatever was promised to it before.

    ``needs`` is {material: amount still needed from now on}; materials that are left out are let
    go, and what is not counted (tap water) is passed over. A promise that is renewed keeps its
    place in the queue. Returns the open holds.
    """
    quantities = {
        material.pk: checked_quantity(material, quantity)
        for material, quantity in needs.items()
        if material.is_stocked and quantity
    }
    old = {row.material_id: row for row in _locked(work, quantities)}
    changes = []
    for material_id, quantity in quantities.items():
        row = old.pop(material_id, None) or Hold(
            studio=work.studio, work=work, material_id=material_id, quantity=ZERO
        )
        kind = Kind.CHANGED if row.pk else Kind.MADE
        before = (row.label, row.needed_by, row.quantity)
        row.label, row.needed_by = label, needed_by
        row.quantity = row.used + quantity
        row.save()
        if before != (label, needed_by, row.quantity):
            changes.append(_change(row, kind, quantity=row.quantity - before[2]))
    _let_go(old.values(), changes)
    return list(work.holds.open().select_related("material"))


@transaction.atomic
def release(*, work: Work) -> int:
    """Let everything promised to one piece of work go; returns how many holds that was."""
    rows = _locked(work)
    _let_go(rows)
    return len(rows)


@transaction.atomic
def draw_down(*, work: Work, used: Mapping[Material, Decimal]) -> None:
    """Count what was used against the holds of a work, each as far as it goes.

    ``used`` is {material: amount}. Using more than was held is no fault: the rest was free stock.
    """
    amounts = {material.pk: quantity for material, quantity in used.items()}
    changes = []
    for row in _locked(work, amounts):
        part = min(row.outstanding, amounts.get(row.material_id, ZERO))
        if part:
            row.used += part
            row.save(update_fields=["used"])
            changes.append(_change(row, Kind.USED, used=part))
    HoldChange.objects.bulk_create(changes)


def coverage(studio: Studio, materials: Iterable[Material] | None = None) -> dict[Hold, Decimal]:
    """Return {hold: amount of it that stock on hand covers}, first promised first served.

    Two queries; ``materials`` limits it to some materials, which are then taken as they are.
    """
    materials_by_key = {material.pk: material for material in materials or ()}
    rows: Iterable[Hold]
    if materials is None:
        rows = studio.holds.open().select_related("material")
    else:
        rows = _open_of(*materials_by_key) if materials_by_key else []
    left: dict[int, Decimal] = {}
    covered: dict[Hold, Decimal] = {}
    for row in rows:
        row.material = materials_by_key.get(row.material_id) or row.material
        on_hand = left.setdefault(row.material_id, row.material.on_hand)
        covered[row] = min(on_hand, row.outstanding)
        left[row.material_id] = on_hand - covered[row]
    return covered


def shortages(
    studio: Studio, needs: Mapping[Material, Decimal], work: Work | None = None
) -> list[Shortage]:
    """Return a `Shortage` for every material of which a work could not have what it needs.

    ``needs`` is {material: amount}; ``work`` is the one whose own holds count for it. Reads what
    is on hand afresh, in two queries; materials that are not counted are never short.
    """
    quantities = {
        material.pk: quantity for material, quantity in needs.items() if material.is_stocked
    }
    fresh = studio.materials.filter(pk__in=quantities)
    return shortages_of(studio, {row.pk: row for row in fresh}, quantities, work)


def shortages_of(
    studio: Studio,
    materials: Mapping[int, Material],
    quantities: Mapping[int, Decimal],
    work: Work | None,
) -> list[Shortage]:
    """Return the shortages of {material key: amount} over materials that were just read."""
    if quantities.keys() - materials.keys():
        raise NotInStudio("There is no material like that in this studio.")
    promised = defaultdict(list)
    for row, covered in coverage(studio, [materials[pk] for pk in quantities]).items():
        if covered and (work is None or row.work_id != work.pk):
            promised[row.material_id].append((row.label, covered))
    short = []
    for pk, quantity in quantities.items():
        others = promised[pk]
        available = materials[pk].on_hand - sum((covered for _, covered in others), ZERO)
        if quantity > available:
            short.append(
                Shortage(
                    material=materials[pk],
                    quantity=quantity,
                    available=available,
                    missing=quantity - available,
                    on_hand=materials[pk].on_hand,
                    promised=tuple(others),
                )
            )
    return short


def _locked(work: Work, material_ids: Iterable[int] = ()) -> list[Hold]:
    """Lock the materials concerned, then the holds."""
    held = work.holds.open()
    lock_materials(work.studio, {*material_ids, *held.values_list("material", flat=True)})
    return list(held.select_for_update().order_by("pk"))


def _let_go(rows: Iterable[Hold], changes: Iterable[HoldChange] = ()) -> None:
    """Let promises go, and write this down with the changes of the same act."""
    rows = list(rows)
    let_go = [_change(row, Kind.RELEASED, quantity=-row.outstanding) for row in rows]
    Hold.objects.filter(pk__in=[row.pk for row in rows]).update(released_at=timezone.now())
    HoldChange.objects.bulk_create([*changes, *let_go])


def _change(row: Hold, kind: str, *, quantity: Decimal = ZERO, used: Decimal = ZERO) -> HoldChange:
    return HoldChange(
        studio_id=row.studio_id,
        hold=row,
        kind=kind,
        quantity=quantity,
        used=used,
        label=row.label,
        needed_by=row.needed_by,
    )


def find_all(studio: Studio) -> None:
    """Write down what is promised now as found, in a studio of which no changes were kept."""
    rows = studio.holds.open().order_by("pk")
    found = [_change(row, Kind.FOUND, quantity=row.quantity, used=row.used) for row in rows]
    HoldChange.objects.bulk_create(found, batch_size=500)
