"""Batches mixed at the bench: ingredients leave their bottles and a bottle of mix is made."""

from collections.abc import Collection, Hashable, Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.errors import BatchRefused, NotInStudio
from inventory.mixing.frozen import frozen_mix, to_plain
from inventory.mixing.mix_book import MixBook, mix_book
from inventory.mixing.mixes import mix_of
from inventory.mixing.questions import keeps_days, resin_problem
from inventory.models import Batch, Bottle, Entry, Movement, Recipe, Work
from inventory.stock import ledger as stock
from inventory.stock.shelf import local_day
from studio.models import Studio
from studio.money import ZERO
from studio.text import shortened
from studio.units import degrees

LEAST_ML, MOST_ML = Decimal("0.1"), Decimal(100_000)
LEAST_TRACE, MOST_TRACE = Decimal("0.1"), Decimal(600)
COLDEST_C, HOTTEST_C = Decimal(-10), Decimal(60)
PLACES = Decimal("0.001")


@transaction.atomic
def mix_batch(
    *,
    studio: Studio,
    by: User,
    recipe: Recipe,
    volume_ml: Decimal,
    bottles: Collection[Bottle] = (),
    made_at: datetime | None = None,
    trace_seconds: Decimal | None = None,
    temperature_c: Decimal | None = None,
    purpose: str = "",
    notes: str = "",
    place: str = "",
    work: Work | None = None,
) -> Batch:
    """Mix a batch of a recipe, [mL]; returns it with its new bottle of mix.

    Each ingredient leaves its bottles, those named in ``bottles`` first, and the mix is worth just
    what was taken. Bottles of a mix that goes into this one may be named too: they are used up
    first, and only the rest is mixed from its parts. What is held for other work than ``work``
    is left alone, and that work's own holds are drawn down.

    Raises `BatchRefused` for an amount, a trace, a temperature, a time or a bottle that cannot be,
    `StockShortfall` naming everything that is short, `NotInStudio` for another studio's recipe.
    """
    if recipe.studio_id != studio.pk:
        raise NotInStudio("There is no recipe like that in this studio.")
    made_at = made_at or timezone.now()
    _check(volume_ml, made_at, trace_seconds, temperature_c, purpose)
    volume_ml = volume_ml.quantize(PLACES, ROUND_HALF_UP)
    mix, book = mix_of(recipe), mix_book(studio)
    if problem := resin_problem(book.materials[one] for one in book.things_in(recipe.pk)):
        raise BatchRefused(problem)
    by_material = _by_material(studio, bottles, book, recipe)
    ready, fresh = book.draw(recipe.pk, volume_ml, _ready(book, by_material))
    amounts = fresh | {book.materials[book.recipes[one].mix_id]: ml for one, ml in ready.items()}
    moves = [
        stock.StockMove(
            kind=Movement.Kind.MIX,
            material=material,
            quantity=-quantity,
            first=tuple(by_material.get(material.pk, ())),
        )
        for material, quantity in amounts.items()
        if material.is_stocked
    ]
    receipt = stock.Receipt(
        material=mix,
        quantity=volume_ml,
        value=None,
        expires_on=_expiry(studio, keeps_days(book, recipe), made_at),
        density_g_per_ml=book.density(recipe.pk),
        place=place,
    )
    mix_move = stock.StockMove(
        kind=Movement.Kind.MIX, material=mix, quantity=volume_ml, new_bottle=receipt
    )
    entry = stock.post(
        studio=studio,
        by=by,
        moves=[*moves, mix_move],
        uncounted=[material for material in amounts if not material.is_stocked],
        work=work,
        happened_at=made_at,
        purpose=shortened(f"Batch of {recipe}", 80),
        why=purpose,
    )
    bottle = _made_in(entry)
    return Batch.objects.create(
        studio=studio,
        recipe=recipe,
        volume_ml=volume_ml,
        trace_seconds=trace_seconds,
        temperature_c=temperature_c,
        has_silicone=bottle.has_silicone,
        entry=entry,
        bottle=bottle,
        work=work,
        purpose=purpose,
        notes=notes,
        made_of=to_plain(frozen_mix(book, recipe.pk)),
        made_at=made_at,
        by=by,
    )


@transaction.atomic
def undo_batch(*, batch: Batch, by: User, why: str = "") -> bool:
    """Undo a batch: its ingredients are back in their bottles and its mix never was.

    Raises `CannotReverse` when some of the mix has been used since. A batch that was written down
    before mixing moved stock has nothing to put back and is taken off the list; returns whether it
    is still on it.
    """
    if batch.entry is None:
        batch.delete()
        return False
    stock.reverse(studio=batch.studio, by=by, entry=batch.entry, why=why)
    return True


def _check(
    volume_ml: Decimal,
    made_at: datetime,
    trace_seconds: Decimal | None,
    temperature_c: Decimal | None,
    purpose: str,
) -> None:
    if made_at > timezone.now():
        raise BatchRefused("A batch is logged once it is mixed. Choose a time that has passed.")
    _within(volume_ml, LEAST_ML, MOST_ML, "A batch is from 0.1 mL to 100 L.")
    if trace_seconds is not None:
        _within(trace_seconds, LEAST_TRACE, MOST_TRACE, "A trace is from 0.1 to 600 seconds.")
    if temperature_c is not None:
        _within(
            temperature_c,
            COLDEST_C,
            HOTTEST_C,
            f"A temperature is from {degrees(COLDEST_C, HOTTEST_C)}.",
        )
    if len(purpose) > 120:
        raise BatchRefused("Say what it is for in up to 120 characters.")


def _within(number: object, least: Decimal, most: Decimal, sentence: str) -> None:
    if not isinstance(number, Decimal) or not number.is_finite() or not least <= number <= most:
        raise BatchRefused(sentence)


def _by_material(
    studio: Studio, bottles: Collection[Bottle], book: MixBook, recipe: Recipe
) -> dict[int, list[Bottle]]:
    """Return the bottles named as {material key: [bottle]}; refuse what does not go into it."""
    inside = book.things_in(recipe.pk)
    by_material: dict[int, list[Bottle]] = {}
    for bottle in studio.bottles.filter(pk__in=[one.pk for one in bottles]).order_by("pk"):
        by_material.setdefault(bottle.material_id, []).append(bottle)
        if bottle.material_id not in inside:
            raise BatchRefused(
                f"{bottle.code} {book.materials[bottle.material_id]} does not go into {recipe}. "
                "Name bottles of what does, or none."
            )
    if sum(map(len, by_material.values())) < len({one.pk for one in bottles}):
        raise NotInStudio("There is no bottle like that in this studio.")
    return by_material


def _ready(book: MixBook, by_material: Mapping[int, Sequence[Bottle]]) -> dict[Hashable, Decimal]:
    """Return {recipe key: mL} of the mixes among the bottles named."""
    return {
        recipe.pk: sum((bottle.remaining for bottle in named), ZERO)
        for recipe in book.recipes.values()
        if (named := by_material.get(recipe.mix_id or 0))
    }


def _expiry(studio: Studio, days: int | None, made_at: datetime) -> date | None:
    return None if days is None else local_day(studio, made_at) + timedelta(days=days)


def _made_in(entry: Entry) -> Bottle:
    """Return the bottle that an entry made."""
    move = entry.movements.select_related("bottle__material").get(
        kind=Movement.Kind.MIX, quantity__gt=0
    )
    return move.bottle
