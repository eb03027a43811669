"""Build the demo studio, up to the morning the customer asks."""

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from random import Random

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.buying.purchasing import receive_delivery
from inventory.mixing import recipes
from inventory.models import Material, Movement, Recipe
from inventory.steps import PRICE_BREAKS, SHIPPING_TIERS
from inventory.stock import ledger as stock
from pricing.bench.judging import Seen, Verdict, judge_pieces
from pricing.bench.pour_materials import LayerLog
from pricing.bench.pours import log_pour
from pricing.costing.catalogue import StepUse, save_palette, save_technique
from pricing.demo import shelves
from pricing.estimating.sizes import get_or_make_surface
from pricing.models import ResinKit
from studio import people
from studio.models import Membership, Studio

ACCOUNTS = [person["email"] for person in (shelves.OWNER, shelves.MAKER, shelves.VIEWER)]
TILE, CANVAS = "Ceramic tile, 10 × 10 cm", "Canvas, 8 × 8 × 1½ in"
# Pours of the weeks before: days ago, surface, palette, pieces; then a piece's base, colours and
# activator, [mL].
PAST_POURS = (
    (58, TILE, "Harbour dusk", 4, "27", "12", "1.0"),
    (51, TILE, "Fern and ochre", 4, "30", "14", "1.1"),
    (37, CANVAS, "Harbour dusk", 1, "432", "74", "3.8"),
    (30, TILE, "Harbour dusk", 4, "26", "12", "1.0"),
    (16, TILE, "Fern and ochre", 4, "28", "13", "1.1"),
)
# What an entry of its opening stock says.
ON_THE_SHELF = "On the shelf before"
# Its people sign up as it is opened, within so long; what they open later is another studio.
TOGETHER = timedelta(minutes=1)
# When the paint of a past pour was looked at.
DRY_AFTER = timedelta(days=3)


def is_free() -> bool:
    """Tell whether the demo may be loaded: nobody has a studio here, or one of its accounts."""
    accounts = get_user_model().objects.filter(username__in=ACCOUNTS)
    return not Studio.objects.exists() and not accounts.exists()


def loaded() -> Studio | None:
    """Return the demo's studio, or None once none of its people belongs to it.

    It is the one that was opened as they signed up, and whose ledger begins with its shelf. People
    rename it and leave it, and open others, which are nothing special.
    """
    theirs = Membership.objects.filter(user__username__in=ACCOUNTS)
    for place in theirs.select_related("studio", "user").order_by("studio"):
        studio = place.studio
        if abs(studio.created_at - place.user.date_joined) > TOGETHER:
            continue
        first = studio.entries.order_by("pk").first()
        if first and first.why == ON_THE_SHELF:
            return studio
    return None


def signs_in(studio: Studio) -> bool:
    """Tell whether the demo's owner still signs in to a studio with the demo's password."""
    owner = get_user_model().objects.filter(
        username=shelves.OWNER["email"], is_active=True, memberships__studio=studio
    )
    return any(one.check_password(shelves.PASSWORD) for one in owner)


def build(seed: int) -> tuple[Studio, User]:
    """Build the demo studio through the services a person uses; returns (studio, owner)."""
    with transaction.atomic():
        studio, owner = _open()
        furnish(studio, owner)
    past_pours(studio, owner, Random(seed))
    return studio, owner


def furnish(studio: Studio, owner: User) -> None:
    """Give a new studio the shelf, the recipes, the products and the channels of the demo."""
    materials = _shelf(studio, owner)
    _mixes(studio, materials)
    _sizes(studio, materials)
    _steps(studio, materials)
    _products(studio, materials)
    _selling(studio)


def _open() -> tuple[Studio, User]:
    owner = people.sign_up(
        email=shelves.OWNER["email"],
        password=shelves.PASSWORD,
        name=shelves.OWNER["first_name"],
    )
    studio = people.open_studio(user=owner, **shelves.STUDIO)
    for person, role in ((shelves.MAKER, "maker"), (shelves.VIEWER, "viewer")):
        _, secret = people.invite(studio=studio, by=owner, email=person["email"], role=role)
        user = people.sign_up(
            email=person["email"], password=shelves.PASSWORD, name=person["first_name"]
        )
        people.accept_invitation(secret=secret, user=user)
    return studio, owner


def _shelf(studio: Studio, owner: User) -> dict[str, Material]:
    suppliers = {
        name: studio.suppliers.create(
            name=name,
            lead_days=lead,
            lead_sd_days=spread,
            minimum_order=minimum,
            shipping_fee=fee,
            shipping_tiers=SHIPPING_TIERS.read(tiers, studio.currency),
            free_shipping_over=free,
        )
        for name, (lead, spread, minimum, fee, tiers, free) in shelves.SUPPLIERS.items()
    }
    materials = {}
    for supply in shelves.SUPPLIES:
        material = studio.materials.create(
            name=supply.name,
            kind=supply.kind,
            unit=supply.unit,
            density_g_per_ml=supply.density,
            tare_g=supply.tare,
            swatch=supply.swatch,
            pigments=supply.pigments,
            is_stocked=supply.is_stocked,
            has_silicone=supply.has_silicone,
            shelf_life_days=supply.shelf_life_days,
            opened_life_days=supply.opened_life_days,
            heat_limit_c=supply.heat_limit_c,
        )
        material.refresh_from_db()
        materials[supply.name] = material
        for supplier, size, label, price, *breaks in supply.packs:
            studio.packs.create(
                supplier=suppliers[supplier],
                material=material,
                size=Decimal(size),
                label=label,
                price=Decimal(price),
                price_breaks=PRICE_BREAKS.read("".join(breaks), studio.currency),
                tare_g=supply.tare,
            )
        for left, full, cost, days in supply.opening:
            _opening(studio, owner, material, Decimal(left), Decimal(full), Decimal(cost), days)
    return materials


def _opening(
    studio: Studio,
    owner: User,
    material: Material,
    left: Decimal,
    full: Decimal,
    cost: Decimal,
    days: int,
) -> None:
    """Put on the shelf what was there before; a part-used bottle is worth its part."""
    receive_delivery(
        studio=studio,
        by=owner,
        receipts=[
            stock.Receipt(
                material=material,
                quantity=left,
                value=cost * left / full,
                capacity=full,
                pack=material.packs.filter(size=full).first(),
            )
        ],
        received_on=studio.today() - timedelta(days=days),
        kind=Movement.Kind.OPENING,
        why=ON_THE_SHELF,
    )


def _mixes(studio: Studio, materials: Mapping[str, Material]) -> None:
    by_name: dict[str, Material | Recipe] = {**materials}
    mixes: dict[str, Recipe] = {}
    for name, (role, trace, parts) in shelves.RECIPES.items():
        by_name[name] = mixes[name] = recipes.save_recipe(
            studio=studio,
            name=name,
            role=role,
            basis="volume",
            parts=[(by_name[what], Decimal(number)) for what, number in parts],
            trace_seconds=Decimal(trace) if trace else None,
            keeps_days=shelves.MIXES_KEEP_DAYS,
        )
    for name, colours in shelves.PALETTES.items():
        save_palette(
            studio=studio,
            name=name,
            base=mixes["White base coat"],
            activator=mixes["Black cell activator"],
            colours=[(mixes[mix], Decimal(parts)) for mix, parts in colours],
        )
    ResinKit.objects.create(
        studio=studio,
        name="Clear coating resin",
        resin=materials["Coating resin, part A"],
        hardener=materials["Coating hardener, part B"],
        **{name: Decimal(figure) for name, figure in shelves.LABEL.items()},
        basis=ResinKit.Basis.VOLUME,
    )


def _sizes(studio: Studio, materials: Mapping[str, Material]) -> None:
    get_or_make_surface(studio, "10 × 10 cm × 6 mm", material=materials[TILE], name=TILE)
    get_or_make_surface(studio, "8 × 8 × 1½ in", material=materials[CANVAS], name=CANVAS)


def _steps(studio: Studio, materials: Mapping[str, Material]) -> None:
    bloom = studio.techniques.get(slug="bloom")
    save_technique(
        technique=bloom,
        success_rate=bloom.success_rate,
        coat_success_rate=bloom.coat_success_rate,
        is_offered=True,
        steps={
            step: (Decimal(once), Decimal(each)) for step, (once, each, *_) in shelves.STEPS.items()
        },
        uses={
            step: StepUse(materials[name], Decimal(amount), per, pieces)
            for step, (_, _, name, amount, per, pieces) in shelves.STEPS.items()
        },
    )


def _products(studio: Studio, materials: Mapping[str, Material]) -> None:
    for ware in shelves.PRODUCTS:
        studio.products.create(
            name=ware.name,
            surface=studio.surfaces.get(name=ware.surface),
            technique=studio.techniques.get(slug="bloom"),
            palette=studio.palettes.get(name=ware.palette),
            topcoat=studio.resin_kits.get() if ware.has_resin else None,
            pieces_each=ware.pieces_each,
            packaging=materials.get(ware.packaging),
            price=Decimal(ware.price),
            use=ware.use,
        )


def _selling(studio: Studio) -> None:
    for name, (share, fixed, listing, on_shipping) in shelves.CHANNELS.items():
        studio.channels.create(
            name=name,
            percent_fee=Decimal(share),
            fixed_fee=Decimal(fixed),
            listing_fee=Decimal(listing),
            fee_on_shipping=on_shipping,
            is_consignment=name == shelves.ON_CONSIGNMENT,
        )


def past_pours(studio: Studio, owner: User, dice: Random) -> None:
    """Log the weeks before, a little more or less than planned, as a hand does."""
    for days, surface, palette, count, base, colours, activator in PAST_POURS:
        give = Decimal(str(round(dice.uniform(0.93, 1.07), 2)))
        base_ml = Decimal(base) * count * give
        poured_at = timezone.now() - timedelta(days=days)
        pour = log_pour(
            studio=studio,
            by=owner,
            surface=studio.surfaces.get(name=surface),
            technique=studio.techniques.get(slug="bloom"),
            palette=studio.palettes.get(name=palette),
            count=count,
            layers={
                "base": LayerLog(base_ml, base_ml * Decimal("0.05"), base_ml * Decimal("0.30")),
                "colours": LayerLog(Decimal(colours) * count * give, Decimal(2)),
                "activator": LayerLog(Decimal(activator) * count * give, Decimal("0.3")),
            },
            minutes=Decimal(20 + 6 * count),
            poured_at=poured_at,
        )
        judge_pieces(
            pour=pour,
            by=owner,
            seen=[Seen(number, Verdict.GOOD) for number in range(1, count + 1)],
            judged_at=min(poured_at + DRY_AFTER, timezone.now()),
        )
