"""A commission made just as it was planned, through the services, and studios of all kinds."""

from decimal import Decimal as D
from random import Random

from inventory.models import Material, Recipe
from inventory.stock import holds
from inventory.stock import ledger as stock
from pricing.bench.batches import mix_batch
from pricing.bench.pours import LayerLog
from pricing.commissions import orders as commissions
from pricing.costing.costs import packing_minutes
from pricing.costing.defaults import prepare_studio
from pricing.costing.habits import SESSIONS, habits_of
from pricing.models import FinishedPiece, LabourStep, Palette
from pricing.quoting import quotes as quoting
from pricing.selling.agreed import hand_over
from studio.money import allocate, minor_unit
from tests.factories import going_on
from tests.factories.going_on import pack_set, sell
from tests.factories.inventory import (
    MaterialFactory,
    PackFactory,
    RecipeFactory,
    RecipePartFactory,
    WorkFactory,
)
from tests.factories.judged import coat_judged, pour_judged
from tests.factories.pricing import (
    ChannelFactory,
    CustomerFactory,
    PaletteColourFactory,
    ResinKitFactory,
    SavedSurfaceFactory,
)
from tests.factories.studio import StudioFactory

Step = LabourStep.Step
# How many of a dollar's worth one of it is, roughly.
CURRENCIES = {"USD": 1, "JPY": 150, "KWD": D("0.3"), "CHF": 1, "HUF": 350}


# Made as planned


def accept(commission, **terms):
    """Quote a commission and have it accepted; the quote."""
    quote = quoting.draft_quote(commission=commission, by=None, **terms)
    going_on.send_quote(quote=quote, by=None)
    return quoting.accept_quote(quote=quote, name="Wren Alder")


def make_and_sell(commission, estimate, channel):
    """Mix what was planned, pour, coat and pack all of it with nothing failed, and sell it.

    ``estimate`` is that of the day of the quote, and so are the minutes.
    """
    habits = habits_of(commission.studio)
    keep_promises(commission)
    for one in estimate.lines:
        make_line(one, habits[one.line.technique_id])
    sell_all(commission, channel)


def sell_all(commission, channel):
    """Hand all of a commission over as it was agreed."""
    agreed = hand_over(commission)
    sell(
        studio=commission.studio,
        by=None,
        channel=channel,
        sold_on=commission.studio.today(),
        items=agreed.items,
    )


def keep_promises(commission):
    """Use what is promised to other work, whose turn comes first."""
    others = commission.studio.holds.open().exclude(work=commission.work)
    for hold in others.select_related("material", "work"):
        stock.use(
            studio=commission.studio,
            by=None,
            work=hold.work,
            amounts={hold.material: hold.outstanding},
        )


def make_line(one, habit):
    line, piece = one.line, one.piece
    coat = piece.layer("topcoat")
    make_session(line, habit, piece.layers, piece.count, coat and coat.to_mix_ml)
    pack(line, habit)


def make_session(line, habit, layers, count, resin_ml, failed=0, spoiled=0):
    """Pour so many pieces and coat those that came out well, unless none did."""
    pour = pour_judged(
        studio=line.commission.studio,
        by=None,
        line=line,
        layers={one.layer: planned(line, one) for one in layers if one.layer != "topcoat"},
        count=count,
        good_count=count - failed,
        minutes=minutes(habit, "pour", count, line.topcoat is not None),
    )
    if line.topcoat and failed < count:
        coat_judged(
            pour=pour,
            by=None,
            kit=line.topcoat,
            mixed_ml=resin_ml,
            minutes=minutes(habit, "topcoat", count - failed, True),
            spoiled_count=spoiled,
        )


def pack(line, habit):
    """Pack all good pieces of a line; a test tile is not packed."""
    if line.is_test:
        return
    pieces = list(FinishedPiece.objects.filter(pour__line=line, state="good").order_by("pk"))
    packing = (packing_minutes(line, habit) * line.quantity).quantize(D("0.01"))
    shares = allocate(packing, [1] * line.quantity, 2)
    for place in range(line.quantity):
        first = place * line.pieces_each
        pack_set(
            studio=line.commission.studio,
            by=None,
            name="",
            pieces=pieces[first : first + line.pieces_each],
            line=line,
            minutes=shares[place],
        )


def minutes(habit, kind, count, coated):
    """What a session takes by the habit, not rounded to whole minutes."""
    done = habit.steps_for(coated)
    steps = [done[step] for step in SESSIONS[kind] if step in done]
    return sum((once + each * count for once, each in steps), D(0))


def planned(line, layer):
    """The log of a layer as it is planned: out of bottles where some of it is to stay in them."""
    goes, studio = layer.spent, line.commission.studio
    if not goes.saved:
        return LayerLog(goes.used, goes.left, goes.scraped)
    volumes = [mix.to_mix_ml for mix in layer.mixes]
    mixes = []
    for mix, ml in zip(layer.mixes, allocate(goes.used, volumes, 3), strict=True):
        batch = mix_batch(
            studio=studio,
            by=None,
            commission=line.commission,
            recipe=Recipe.objects.get(pk=mix.recipe_id),
            volume_ml=mix.to_mix_ml,
        )
        mixes.append((batch.bottle, ml))
    return LayerLog(goes.used, goes.left, goes.scraped, mixes=tuple(mixes))


# Studios of all kinds


def random_studio(seed):
    """A studio by its own dice: money, measures, tax, costing, recipes, lots, steps and channel."""
    dice = Random(seed)
    currency = list(CURRENCIES)[seed % len(CURRENCIES)]
    worth = D(CURRENCIES[currency])
    unit = minor_unit(currency)

    def money(low, high):
        return (D(str(round(dice.uniform(low, high), 4))) * worth).quantize(unit)

    studio = StudioFactory(
        currency=currency,
        measures=dice.choice(("us", "metric", "au", "imperial")),
        costing=dice.choice(("fifo", "moving_average")),
        run_off_value=dice.choice(("base", "base", "nothing")),
        tax_rate=D(str(dice.choice((0, 0.05, 0.077, 0.2, 0.27)))),
        tax_inclusive=dice.random() < 0.5,
        labour_rate=money(5, 40),
        overhead_rate=money(0, 9),
        margin=D(str(round(dice.uniform(0.1, 0.5), 3))),
        rounding_step=unit * dice.choice((1, 5, 50)),
        minimum_charge=dice.choice((D(0), money(20, 400))),
        mix_confidence=D(str(dice.choice((0.6, 0.9, 0.95)))),
        cup_loss=D(str(dice.choice((0, 0.05, 0.12)))),
    )
    prepare_studio(studio)
    studio.techniques.update(success_rate=1, coat_success_rate=1, learns=False)
    _steps(studio, dice)
    materials = {
        name: _material(studio, dice, worth, name, kind)
        for name, kind in (
            *((name, "paint") for name in ("white", "blue", "gold", "black")),
            ("medium", "medium"),
            ("resin", "resin"),
            ("hardener", "hardener"),
            ("tile", "surface"),
            ("canvas", "surface"),
            ("box", "packaging"),
            ("primer", "medium"),
            ("sealer", "medium"),
            ("varnish", "medium"),
            ("feet", "other"),
        )
    }
    _uses(studio, dice, materials)
    materials["water"] = MaterialFactory(
        studio=studio, name="water", kind="water", is_stocked=False, density_g_per_ml=D(1)
    )
    palettes = _palettes(studio, dice, materials)
    channel = ChannelFactory(
        studio=studio,
        name="The usual",
        percent_fee=D(str(round(dice.choice((0, dice.uniform(0.01, 0.2))), 4))),
        fixed_fee=dice.choice((D(0), money(0.1, 0.9))),
        listing_fee=dice.choice((D(0), money(0.1, 0.5))),
        fee_on_shipping=dice.random() < 0.5,
    )
    _promise(studio, dice, materials)
    commission = _commission(studio, dice, materials, palettes)
    terms = {
        "channel": channel,
        "shipping": dice.choice((D(0), money(3, 12))),
        "rush": D(str(dice.choice((0, 0.1)))),
        "discount": D(str(dice.choice((0, 0.05)))),
    }
    return commission, palettes, terms, dice


def _steps(studio, dice):
    for technique in studio.techniques.all():
        for step in (Step.PREPARE, Step.SEAL, Step.PHOTOGRAPH, Step.CUSTOMER, Step.PACK):
            if dice.random() < 0.5:
                technique.steps.filter(step=step).delete()
                technique.steps.create(
                    step=step,
                    fixed_minutes=D(str(round(dice.uniform(0, 9), 2))),
                    minutes_each=D(str(round(dice.uniform(0, 4), 2))),
                )


def _uses(studio, dice, materials):
    """Let some steps use something, each by the piece or by its face."""
    for technique in studio.techniques.all():
        for step, name in (
            *((Step.PRIME, "primer"), (Step.SEAL, "sealer")),
            *((Step.VARNISH, "varnish"), (Step.FEET, "feet")),
        ):
            if dice.random() < 0.5:
                material = materials[name]
                by_face = material.unit != "each" and dice.random() < 0.5
                amount = D(4) if name == "feet" else D(str(round(dice.uniform(0.5, 9), 3)))
                technique.steps.update_or_create(
                    step=step,
                    defaults={
                        "material": material,
                        "amount": amount * 50 if by_face else amount,
                        "per": "m2" if by_face else "piece",
                        "pieces": "" if step == Step.VARNISH else dice.choice(("", "coated")),
                    },
                )


def _material(studio, dice, worth, name, kind):
    """A material in up to four bottles at different costs, counted in mL, grams or pieces."""
    is_whole = kind in ("surface", "packaging") or name == "feet"
    unit = "each" if is_whole else dice.choice(("ml", "ml", "g"))
    density = None if is_whole else D(str(round(dice.uniform(0.9, 1.5), 3)))
    material = MaterialFactory(
        studio=studio, name=name, kind=kind, unit=unit, density_g_per_ml=density
    )
    each = (D(str(round(dice.uniform(0.3, 8), 3))) if is_whole else D("0.02")) * worth
    sizes = [D(dice.randint(5, 15)) if is_whole else D(dice.randint(50, 400)) for _ in range(3)]
    for size in (*sizes, D(60) if is_whole else D(6000)):
        value = (size * each * D(str(round(dice.uniform(0.6, 1.6), 3)))).quantize(D("0.000001"))
        receipt = stock.Receipt(material=material, quantity=size, value=value)
        stock.receive(studio=studio, by=None, receipts=[receipt])
    price = max((100 * each).quantize(minor_unit(studio.currency)), minor_unit(studio.currency))
    PackFactory(studio=studio, material=material, size=D(100), price=price)
    return Material.objects.get(pk=material.pk)


def _palettes(studio, dice, materials):
    base = _recipe(studio, "base", "base", {"white": dice.randint(5, 12), "water": 1}, materials)
    medium = _recipe(studio, "thinned", "other", {"medium": 3, "water": 1}, materials)
    mixes = []
    for colour in ("blue", "gold", "black"):
        recipe = _recipe(studio, f"{colour} mix", "colour", {colour: 1}, materials)
        RecipePartFactory(recipe=recipe, material=None, subrecipe=medium, parts=D(2), position=1)
        mixes.append(recipe)
    activator = _recipe(studio, "cells", "activator", {"medium": 3, "black": 1}, materials)
    palettes = []
    for name in ("Tide", "Dusk"):
        palette = Palette.objects.create(studio=studio, name=name, base=base, activator=activator)
        for place, recipe in enumerate(mixes[: dice.randint(1, 3)]):
            PaletteColourFactory(
                palette=palette, recipe=recipe, parts=D(dice.randint(1, 9)), position=place
            )
        palettes.append(palette)
    return palettes


def _recipe(studio, name, role, parts, materials):
    recipe = RecipeFactory(studio=studio, name=name, role=role)
    for place, (material, amount) in enumerate(parts.items()):
        RecipePartFactory(
            recipe=recipe, material=materials[material], parts=D(amount), position=place
        )
    return recipe


def _promise(studio, dice, materials):
    """Promise some of the shelf to other work, and have some of it used up already."""
    for material in materials.values():
        if material.is_stocked and dice.random() < 0.5:
            some = D(dice.randint(1, 20)) if material.unit == "each" else D(dice.randint(5, 500))
            holds.hold(work=WorkFactory(studio=studio), label="Other work", needs={material: some})


def _commission(studio, dice, materials, palettes):
    commission = commissions.open_commission(
        studio=studio, by=None, customer=CustomerFactory(studio=studio), title="As planned"
    )
    kit = ResinKitFactory(
        studio=studio,
        resin=materials["resin"],
        hardener=materials["hardener"],
        ratio_a=D(dice.choice((1, 2))),
        basis=dice.choice(("weight", "volume")),
        waste=D(str(dice.choice((0.1, 0.15)))),
    )
    sizes = [
        SavedSurfaceFactory(
            studio=studio,
            name=f"{name} {side}",
            width_mm=D(side),
            height_mm=D(side),
            depth_mm=D(depth),
            material=materials[name],
        )
        for name, side, depth in (("tile", 100, 6), ("canvas", dice.randint(120, 220), 20))
    ]
    techniques = list(studio.techniques.all())
    for _ in range(dice.randint(1, 3)):
        going_on.add_line(
            commission=commission,
            by=None,
            surface=dice.choice(sizes),
            technique=dice.choice(techniques),
            palette=dice.choice(palettes),
            quantity=dice.randint(1, 3),
            pieces_each=dice.choice((1, 1, 4)),
            topcoat=kit if dice.random() < 0.5 else None,
            packaging=materials["box"] if dice.random() < 0.7 else None,
        )
    return commission


def log_before(studio, palettes, dice):
    """Log some pours that came before, some of them out of bottles, so that there is a habit."""
    surface = studio.surfaces.first()
    for _ in range(dice.randint(0, 4)):
        palette = dice.choice(palettes)
        bottle = mix_batch(studio=studio, by=None, recipe=palette.base, volume_ml=D(90)).bottle
        from_bottle = dice.random() < 0.6
        pour_judged(
            studio=studio,
            by=None,
            surface=surface,
            technique=dice.choice(list(studio.techniques.all())),
            palette=palette,
            count=1,
            good_count=1,
            minutes=D(30),
            layers={
                "base": LayerLog(
                    D(90), D(5), D(20), mixes=((bottle, D(90)),) if from_bottle else ()
                ),
                "colours": LayerLog(D(40), D(3), D(dice.choice((0, 6)))),
            },
        )
