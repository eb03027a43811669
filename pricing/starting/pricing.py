"""What the first prices rest on: which five are asked for, and what is given for them."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from inventory.buying.purchasing import receive_delivery
from inventory.models import Entry, Material, Movement, Pack, Supplier
from inventory.stock import ledger as stock
from pricing.costing.product_runs import Production, RunBasis
from pricing.costing.replacement import unit_costs
from pricing.models import Product, ResinKit
from pricing.starting.filling import opening
from pricing.starting.shelf import SUPPLIES
from studio.errors import StudioError
from studio.models import Studio
from studio.money import ZERO, to_payable
from studio.rows import keep_row, refuse_strangers
from studio.units import QUANTITY_PLACES

FIVE = 5
SHOP = "My usual shop"
NOW_KNOWN = "What it cost is known now"
Kind = Material.Kind
# Which kinds are alike when the dearest are looked for.
GROUPS: dict[str, str] = {
    Kind.SURFACE: "surface",
    Kind.RESIN: "resin",
    Kind.PAINT: "paint",
    Kind.MEDIUM: "medium",
    Kind.CONDITIONER: "medium",
    Kind.ADDITIVE: "medium",
    Kind.PACKAGING: "packaging",
}
# What makes most of the cost of a poured piece, the dearest first, as (kind, how manieth of it by
# the amount that a piece takes): what it is poured on, resin, the base coat's paint, the medium,
# the colour used most. Common practice, no source: without prices nobody can tell exactly.
DEAREST = (
    *(("surface", 0), ("resin", 0), ("paint", 0), ("medium", 0), ("paint", 1)),
    *(("packaging", 0), ("medium", 1), ("paint", 2), ("paint", 3)),
)


@dataclass(frozen=True)
class Thing:
    """Something that is bought at one price: a material, or both parts of a resin kit.

    ``holds`` is how much one of it has, in its own unit, and ``one`` what that is called.
    """

    key: str
    label: str
    materials: tuple[Material, ...]
    holds: Decimal
    one: str
    is_known: bool


@dataclass(frozen=True)
class Given:
    """What one of a thing costs, [currency], and how much it holds, in its own unit."""

    thing: Thing
    price: Decimal
    holds: Decimal


def things_to_price(studio: Studio) -> tuple[list[Thing], list[Thing]]:
    """Return the things that make most of the cost of the first product, five at most, and the
    others, as the studio buys them.
    """
    bought = studio.materials.current().filter(is_stocked=True).exclude(kind=Kind.MIX)
    takes = _taken(studio.products.filter(archived_at=None).order_by("pk").first())
    rows = sorted(bought, key=lambda one: (-takes.get(one.pk, ZERO), one.pk))
    known = {key for key, cost in unit_costs(studio, rows).items() if cost}
    things = [*_things(studio, rows, known)]
    by_group: dict[str, list[Thing]] = {}
    for thing in things:
        by_group.setdefault(GROUPS.get(thing.materials[0].kind, ""), []).append(thing)
    first = [
        by_group[group][place] for group, place in DEAREST if len(by_group.get(group, ())) > place
    ][:FIVE]
    return first, [one for one in things if one not in first]


def _taken(product: Product | None) -> Mapping[int, Decimal]:
    """Return {material key: how much one of a product takes}; nothing where it cannot be told."""
    if product is None:
        return {}
    try:
        needs = Production(product, RunBasis(product.studio)).estimate(1).needs
    except StudioError:
        return {}
    return {material.pk: need.used for material, need in needs.items()}


def _things(studio: Studio, rows: Sequence[Material], known: set[int]) -> Iterator[Thing]:
    """Yield what is bought, both parts of a kit as one."""
    kits = list(studio.resin_kits.filter(archived_at=None).select_related("resin", "hardener"))
    by_part = {part: kit for kit in kits for part in (kit.resin_id, kit.hardener_id)}
    for row in rows:
        kit = by_part.get(row.pk)
        if kit is None:
            holds, one = _one_of(studio, [row])
            yield Thing(f"m{row.pk}", row.name, (row,), holds, one, row.pk in known)
        elif row.pk == kit.resin_id:
            both = (kit.resin, kit.hardener)
            holds, _ = _one_of(studio, both)
            is_known = all(part.pk in known for part in both)
            one = "both bottles together"
            yield Thing(f"k{kit.pk}", f"{kit}, parts A and B", both, holds, one, is_known)


def _one_of(studio: Studio, rows: Sequence[Material]) -> tuple[Decimal, str]:
    """Return what one of some materials usually holds together, and what that is called."""
    usual = {one.name: one.one(studio.measures) for one in SUPPLIES}
    plain = (Decimal(1), "one") if rows[0].unit == Material.Unit.EACH else (Decimal(100), "")
    found = [usual.get(row.name, plain) for row in rows]
    return sum((holds for holds, _ in found), ZERO), found[0][1]


@transaction.atomic
def give_prices(*, studio: Studio, by: User, given: Iterable[Given]) -> int:
    """Write down what things cost; returns of how many.

    Each becomes a pack of a shop without a name yet. What was counted at the start, when nobody
    said what it had cost, comes in anew at that price, as long as none of it was used.
    """
    given = list(given)
    refuse_strangers(studio, *(material for one in given for material in one.thing.materials))
    if given:
        shop = studio.suppliers.filter(name=SHOP).first()
        shop = shop or keep_row(row=Supplier(studio=studio, name=SHOP))
        for one in given:
            for material, holds, price in _parts(studio, one):
                _offer(studio, shop, material, holds, price)
                _count_at(studio, by, material, price / holds)
    return len(given)


def _parts(studio: Studio, one: Given) -> Iterator[tuple[Material, Decimal, Decimal]]:
    """Yield each material with its share of what one holds and costs; a mL of each costs alike."""
    materials = one.thing.materials
    if len(materials) == 1:
        yield materials[0], one.holds, one.price
        return
    resin, hardener = materials
    kit = ResinKit.objects.filter(resin=resin, hardener=hardener).first()
    a, b = (kit.ratio_a, kit.ratio_b) if kit and kit.has_ratio else (None, None)
    share = a / (a + b) if a and b else Decimal("0.5")
    holds = (one.holds * share).quantize(QUANTITY_PLACES)
    price = to_payable(one.price * share, studio.currency)
    yield resin, holds, price
    yield hardener, one.holds - holds, one.price - price


def _offer(
    studio: Studio, shop: Supplier, material: Material, holds: Decimal, price: Decimal
) -> None:
    row = studio.packs.filter(supplier=shop, material=material, size=holds).first()
    row = row or Pack(studio=studio, supplier=shop, material=material, size=holds)
    row.price = price
    keep_row(row=row, names=["price"])


def _count_at(studio: Studio, by: User, material: Material, unit_price: Decimal) -> None:
    """Let what was counted at no price be worth one, where it is as it was."""
    for entry in _unpriced(studio, material):
        moves = list(entry.movements.select_related("bottle"))
        if any(move.material_id != material.pk for move in moves):
            continue
        try:
            with transaction.atomic():
                stock.reverse(studio=studio, by=by, entry=entry, why=NOW_KNOWN)
        except StudioError:
            continue  # some of it was used, and what that cost stays as it was
        receive_delivery(
            studio=studio,
            by=by,
            receipts=[
                opening(
                    material,
                    move.quantity,
                    move.quantity * unit_price,
                    move.bottle.capacity or move.quantity,
                )
                for move in moves
            ],
            kind=Movement.Kind.OPENING,
            why=NOW_KNOWN,
        )


def _unpriced(studio: Studio, material: Material) -> list[Entry]:
    opened = studio.movements.filter(material=material, kind=Movement.Kind.OPENING, value=0)
    rows = studio.entries.filter(pk__in=opened.values("entry"), reversed_by=None)
    return list(rows.order_by("pk"))
