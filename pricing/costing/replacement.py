"""What materials cost to replace, for asking prices: read from rows, never solved in a page."""

from collections.abc import Collection, Iterable
from decimal import Decimal

from inventory.buying.replacing import last_paid, without_pack
from inventory.models import Material, ReplacementCost
from pricing.costing.material_prices import ALWAYS_THERE, MaterialPrice, cheapest_packs, no_price
from pricing.errors import NoPriceKnown
from studio.dates import in_full as day
from studio.models import Studio
from studio.money import ZERO

ONE = Decimal(1)
NOT_GIVEN = "price not yet known"
# What costs alike, by kind.
Kind = Material.Kind
_GROUPS: tuple[tuple[str, ...], ...] = (
    (Kind.PAINT,),
    (Kind.MEDIUM, Kind.CONDITIONER, Kind.ADDITIVE),
    (Kind.RESIN, Kind.HARDENER),
)
ALIKE: dict[str, tuple[str, ...]] = {kind: group for group in _GROUPS for kind in group}
# What a piece goes without, for as long as nobody says what it costs.
SMALL = (Kind.PACKAGING, Kind.ADDITIVE, Kind.OTHER)
NOT_YET = "cheapest pack on offer, until its usual purchase is worked out"


def replacement_prices(
    studio: Studio, materials: Iterable[Material]
) -> dict[Material, MaterialPrice]:
    """Return {material: MaterialPrice} as `known_replacement_prices` does.

    Raises `NoPriceKnown`, naming every material that was never bought and has no pack.
    """
    by_material, unknown = known_replacement_prices(studio, materials)
    if unknown:
        raise NoPriceKnown(no_price(unknown))
    return by_material


def known_replacement_prices(
    studio: Studio, materials: Iterable[Material]
) -> tuple[dict[Material, MaterialPrice], list[Material]]:
    """Return {material: MaterialPrice} of one unit each, and the materials without a price.

    The price of a unit does not depend on how many are asked for. What the background has not come
    to yet is priced at its cheapest pack or, without one, at what was last paid or its stock is
    worth, and says so. What nobody has given a price is taken as `stand_ins` has it; a kind of
    which no price is known at all has none.
    """
    materials = list(materials)
    stocked = {one.pk: one for one in materials if one.is_stocked}
    rows = {
        row.material_id: row
        for row in ReplacementCost.objects.filter(studio=studio, material__in=stocked)
    }
    waiting = [one for one in stocked.values() if one.pk not in rows]
    guesses = _guesses(waiting) if waiting else {}
    found: dict[Material, MaterialPrice] = {}
    for material in materials:
        if not material.is_stocked:
            found[material] = MaterialPrice(material, ONE, ZERO, ALWAYS_THERE)
        elif material.pk in rows:
            row = rows[material.pk]
            found[material] = MaterialPrice(material, ONE, row.unit_cost, source_of(row))
        elif material.pk in guesses:
            value, source = guesses[material.pk]
            found[material] = MaterialPrice(material, ONE, value, source)
    if unknown := [one for one in materials if one not in found]:
        found |= stand_ins(studio, unknown)
    return found, [one for one in unknown if one not in found]


def stand_ins(studio: Studio, unknown: Collection[Material]) -> dict[Material, MaterialPrice]:
    """Return what is taken for materials that nobody has given a price, as far as can be.

    Each is as dear as the dearest of its kind whose price is known, so that what is asked is
    rather too much than too little; packaging and small things count as nothing until then. A
    surface is like no other, so that one has no stand-in, nor has a kind without any price.
    """
    alike = [kind for one in unknown for kind in ALIKE.get(one.kind, ())]
    rows = list(studio.materials.filter(kind__in=alike, archived_at=None, is_stocked=True))
    costs = unit_costs(studio, rows) if rows else {}
    found: dict[Material, MaterialPrice] = {}
    for material in unknown:
        like = [
            (costs[one.pk], one.name)
            for one in rows
            if one.kind in ALIKE.get(material.kind, ()) and one.unit == material.unit
            if costs.get(one.pk)
        ]
        if like:
            value, name = max(like)
            source = f"{NOT_GIVEN}; taken to cost what {name} does"
            found[material] = MaterialPrice(material, ONE, value, source, is_known=False)
        elif material.kind in SMALL:
            source = f"{NOT_GIVEN}; left out"
            found[material] = MaterialPrice(material, ONE, ZERO, source, is_known=False)
    return found


def unit_costs(studio: Studio, materials: Iterable[Material]) -> dict[int, Decimal]:
    """Return {material key: what one unit costs to buy anew, [currency]}, in at most three queries.

    What is kept, and what the background has not come to yet by its cheapest pack or what was last
    paid; without what nobody sells and nobody bought.
    """
    materials = list(materials)
    kept = ReplacementCost.objects.filter(studio=studio, material__in=materials)
    rows = {row.material_id: row for row in kept}
    waiting = [one for one in materials if one.pk not in rows]
    found = last_paid(waiting) | cheapest_packs(waiting) if waiting else {}
    shelf = ReplacementCost.Source.SHELF
    return found | {key: row.unit_cost for key, row in rows.items() if row.source != shelf}


def source_of(row: ReplacementCost) -> str:
    """Say what a replacement cost rests on: which packs of whom, and of which day it is."""
    packs = [f"{one['count']} × {one['pack']}, {one['supplier']}" for one in _packs(row)]
    bought = f"{' and '.join(packs)}, delivered" if packs else row.get_source_display()
    return f"{bought}; of {day(row.made_on)}"


def _packs(row: ReplacementCost) -> list[dict[str, object]]:
    packs: list[dict[str, object]] = row.basis.get("packs", [])
    return packs


def _guesses(materials: Collection[Material]) -> dict[int, tuple[Decimal, str]]:
    """Return {material key: (price of a unit, source)} of what is not worked out yet."""
    packs, paid = cheapest_packs(materials), last_paid(materials)
    found: dict[int, tuple[Decimal, str]] = {}
    for material in materials:
        unit_cost, source = without_pack(material, paid)
        if material.pk in packs:
            found[material.pk] = packs[material.pk], NOT_YET
        elif unit_cost is not None:
            found[material.pk] = unit_cost, source.label
    return found
