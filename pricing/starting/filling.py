"""The starter shelf put in: what was ticked, how much is there, what is mixed and sold of it."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from inventory.buying.purchasing import receive_delivery
from inventory.mixing.recipes import save_recipe
from inventory.models import Material, Movement, Recipe
from inventory.stock.ledger import Receipt
from pricing.costing.catalogue import save_palette
from pricing.costing.products import save_product
from pricing.errors import CatalogueError
from pricing.estimating.kits import kit_problems
from pricing.estimating.sizes import get_or_make_surface
from pricing.models import Palette, Product, ResinKit
from pricing.readiness.concerns import before_offering
from pricing.starting.shelf import MIXES, PALETTES, Mix, Piece, Supply
from pricing.starting.shelf.mixes import ACTIVATOR, ALL_COLOURS, BASES
from pricing.starting.shelf.supplies import RESIN, WATER
from studio.models import Studio
from studio.money import ZERO
from studio.rows import keep_row

KIT = "Clear coating resin"
ROUGHLY = "Counted roughly at the start"
ONE = Decimal(1)


@dataclass(frozen=True)
class Have:
    """A thing to keep, and how many of it are there, as `Supply.one` counts them, [-]."""

    supply: Supply
    count: Decimal = ZERO


@dataclass(frozen=True)
class Label:
    """What was read off the label of the resin, as far as it was.

    Parts of A and of B by volume or by weight, [-]; the heat that it takes, [°C]; its full cure,
    [h].
    """

    ratio_a: Decimal | None = None
    ratio_b: Decimal | None = None
    basis: str = ""
    heat_limit_c: Decimal | None = None
    cure_hours: Decimal | None = None


@transaction.atomic
def fill_shelf(
    *,
    studio: Studio,
    by: User,
    have: Sequence[Have],
    pieces: Sequence[Piece] = (),
    label: Label | None = None,
) -> dict[str, Material]:
    """Put a starter shelf in, with what is mixed, poured on and sold of it; returns {slug: row}.

    What a studio has by the same name is taken as it is, so that it may be asked for again. What is
    on the shelf counts as worth nothing until somebody says what it cost, see
    `pricing.starting.pricing`. Recipes and palettes are made as far as their parts were chosen; a
    resin kit coats nothing until the ratio on its ``label`` has been read.

    Raises `Refused` for a size that is none.
    """
    materials = {one.supply.slug: _material(studio, one.supply) for one in have}
    if any(one.supply.kind != "surface" for one in have):
        materials[WATER.slug] = _material(studio, WATER)
    for one in have:
        _count(studio, by, materials[one.supply.slug], one)
    mixes = _mixes(studio, materials)
    palettes = _palettes(studio, mixes)
    kit = _kit(studio, materials, label)
    _pieces(studio, by, pieces, materials, palettes, kit)
    return materials


def _material(studio: Studio, supply: Supply) -> Material:
    found = studio.materials.filter(name=supply.name).first()
    if found is not None:
        return found
    material = Material(
        studio=studio,
        name=supply.name,
        kind=supply.kind,
        unit=supply.unit,
        medium=supply.medium,
        pigments=supply.pigments,
        swatch=supply.swatch,
        is_stocked=supply.is_stocked,
    )
    return keep_row(row=material)


def _count(studio: Studio, by: User, material: Material, have: Have) -> None:
    """Put on the shelf what was counted, each bottle by itself, the part-used one last."""
    holds, _ = have.supply.one(studio.measures)
    if have.count <= 0 or material.bottles.exists():
        return
    if material.unit == Material.Unit.EACH:
        amounts = [have.count.to_integral_value()]
    else:
        full, part = divmod(have.count, ONE)
        amounts = [holds] * int(full) + [holds * part] * bool(part)
    receive_delivery(
        studio=studio,
        by=by,
        receipts=[opening(material, amount, ZERO, max(holds, amount)) for amount in amounts],
        kind=Movement.Kind.OPENING,
        why=ROUGHLY,
    )


def opening(material: Material, amount: Decimal, value: Decimal, capacity: Decimal) -> Receipt:
    """Return one bottle that was on the shelf before."""
    return Receipt(material=material, quantity=amount, value=value, capacity=capacity)


def _mixes(studio: Studio, materials: Mapping[str, Material]) -> dict[str, Recipe]:
    """Write down each recipe whose parts are all there; returns {name: recipe}."""
    there = {one.name: one for one in studio.recipes.all()}
    found: dict[str, Recipe] = {}
    for mix in MIXES:
        if mix.name in there:
            found[mix.name] = there[mix.name]
        elif all(slug in materials for slug, _ in mix.parts):
            found[mix.name] = _recipe(studio, mix, materials)
    return found


def _recipe(studio: Studio, mix: Mix, materials: Mapping[str, Material]) -> Recipe:
    return save_recipe(
        studio=studio,
        name=mix.name,
        role=mix.role,
        basis="volume",
        parts=[(materials[slug], Decimal(parts)) for slug, parts in mix.parts],
        notes=mix.said,
    )


def _palettes(studio: Studio, mixes: Mapping[str, Recipe]) -> list[Palette]:
    """Write down the palettes that the mixes make; all colours in one where they make none."""
    base = next((mixes[name] for name in BASES if name in mixes), None)
    colours = {name: one for name, one in mixes.items() if one.role == Recipe.Role.COLOUR}
    if base is None or not colours:
        return []
    wanted = {
        one.name: one.parts for one in PALETTES if all(name in colours for name, _ in one.parts)
    } or {ALL_COLOURS: tuple((name, 1) for name in colours)}
    there = {one.name: one for one in studio.palettes.all()}
    return [
        there.get(name)
        or save_palette(
            studio=studio,
            name=name,
            base=base,
            activator=mixes.get(ACTIVATOR),
            colours=[(colours[mix], Decimal(share)) for mix, share in parts],
            notes="Shares to begin with: a matter of taste.",
        )
        for name, parts in wanted.items()
    ]


def _kit(studio: Studio, materials: Mapping[str, Material], label: Label | None) -> ResinKit | None:
    """Write the resin kit down; None without both of its parts."""
    if any(slug not in materials for slug in RESIN):
        return None
    kit = studio.resin_kits.filter(name=KIT).first() or ResinKit(
        studio=studio, name=KIT, resin=materials[RESIN[0]], hardener=materials[RESIN[1]]
    )
    for one in fields(label) if label else ():
        if getattr(label, one.name):
            setattr(kit, one.name, getattr(label, one.name))
    for problem in kit_problems(kit).values():
        raise CatalogueError(problem)
    return keep_row(row=kit)


def _pieces(
    studio: Studio,
    by: User,
    pieces: Iterable[Piece],
    materials: Mapping[str, Material],
    palettes: Sequence[Palette],
    kit: ResinKit | None,
) -> None:
    """Keep each size, and a product of it in the first palette as far as it can be made."""
    technique = studio.techniques.order_by("pk").first()
    taken: Collection[str] = set(studio.products.values_list("name", flat=True))
    for piece in pieces:
        surface = get_or_make_surface(
            studio, piece.size, material=materials.get(piece.surface), name=piece.surface
        )
        coat = kit if piece.make.has_resin and kit and kit.has_ratio else None
        lacks_coat = piece.make.has_resin and coat is None
        if not palettes or technique is None or lacks_coat or piece.product in taken:
            continue
        product = Product(
            studio=studio,
            name=piece.product,
            surface=surface,
            technique=technique,
            palette=palettes[0],
            topcoat=coat,
            pieces_each=piece.make.pieces_each,
            packaging=materials.get(piece.make.packed_in),
            use=piece.make.use,
        )
        if not before_offering(product):  # else its maker says why, on the product's own page
            save_product(product=product, by=by)
