"""Pours: log one with all it moved in a single entry, set it aside, undo it."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.models import Entry, Material, Movement
from inventory.stock import ledger as stock
from inventory.stock.shelf import local_day
from pricing.bench.frozen_pours import frozen_layers
from pricing.bench.plain_rules import by_area, by_ounces
from pricing.bench.pour_materials import LayerLog, layer_uses, run_off, use_movements
from pricing.bench.recovering import refuse_recovered
from pricing.commissions.progress import keep_up, lock_work
from pricing.costing.habits import usual_minutes
from pricing.costing.keeping import keep_piece_costs
from pricing.errors import PourRefused
from pricing.estimating.answers import PieceEstimate
from pricing.estimating.bases import base_problem
from pricing.estimating.estimates import estimate
from pricing.estimating.step_materials import all_steps, amounts_used, really_used
from pricing.models import (
    CommissionLine,
    FinishedPiece,
    Palette,
    Pour,
    PourLayer,
    SavedSurface,
    Technique,
)
from pricing.readiness.rooms import refuse_room
from pricing.techniques import facts_of
from studio.models import Studio
from studio.money import ZERO
from studio.numbering import next_number
from studio.rows import refuse_strangers

LAYERS = tuple(PourLayer.Layer.values)


@transaction.atomic
def log_pour(
    *,
    studio: Studio,
    by: User,
    layers: Mapping[str, LayerLog],
    count: int,
    minutes: Decimal | None = None,
    line: CommissionLine | None = None,
    surface: SavedSurface | None = None,
    technique: Technique | None = None,
    palette: Palette | None = None,
    base: str = "",
    notes: str = "",
    poured_at: datetime | None = None,
    room_c: Decimal | None = None,
    humidity_percent: Decimal | None = None,
    used: Mapping[Material, Decimal] | None = None,
) -> Pour:
    """Log a pour: materials by recipe, the surfaces, the run-off kept, and its wet pieces.

    How they came out is judged once they are dry (`pricing.bench.judging`).

    ``layers`` is {layer: LayerLog}; ``base`` is what it was poured over, where the technique is
    poured over more than one, and empty where nobody said. ``used`` is what the steps before it
    used of a material, where that was not as the technique says. With a ``line`` its surface,
    technique, base and palette stand unless others are given, its holds are drawn down and its
    commission is in work. All movements are one entry; the forecast of each layer is stored as it
    was before, and what the plain rules said. ``room_c`` and ``humidity_percent`` are the room it
    dries in. Where nobody gave ``minutes``, it is what such a pour usually takes this studio.

    Raises `PourRefused` for amounts that cannot be, `StockShortfall` for what is not on hand; then
    nothing is stored.
    """
    if line is not None:
        surface, technique = surface or line.surface, technique or line.technique
        palette = palette or line.palette
        base = base or (line.base if technique.pk == line.technique_id else "")
    assert surface and technique and palette  # given where no line says them
    refuse_strangers(studio, line and line.commission, surface, palette)
    refuse_strangers(studio, technique, *(used or {}))
    layers = {
        layer: layers[layer] for layer in LAYERS if layer in layers and layers[layer].mixed_ml
    }
    if minutes is None:
        coated = line is not None and line.topcoat_id is not None
        minutes = usual_minutes(technique, "pour", count, coated=coated)
    _check(layers, count, minutes)
    refuse_room(room_c, humidity_percent)
    _check_technique(technique, layers, base)
    if line is not None:
        lock_work(commissions=[line.commission_id])
        _check_open(line)
    forecast = estimate(studio, surface, technique.slug, count, base=base)
    number = next_number(studio, "pour")
    poured_at = poured_at or timezone.now()
    pour = Pour(
        studio=studio,
        number=number,
        line=line,
        surface=surface,
        technique=technique,
        palette=palette,
        count=count,
        good_count=count,
        poured_at=poured_at,
        base=base,
        notes=notes,
        room_c=room_c,
        humidity_percent=humidity_percent,
        by=by,
        minutes=minutes,
        labour_rate=studio.labour_rate,
        overhead_rate=studio.overhead_rate,
    )
    pour.rule_ml, scaled = by_ounces(pour), by_area(pour, layers)
    pour.entry = _move_stock(pour, layers, by, used)
    pour.save()
    _store_layers(pour, layers, forecast, scaled)
    FinishedPiece.objects.bulk_create(
        FinishedPiece(studio=studio, pour=pour, number=place) for place in range(1, count + 1)
    )
    keep_up(line, by, note=str(pour))
    keep_piece_costs(pour, local_day(studio, poured_at))
    return pour


@transaction.atomic
def confirm_amounts(*, pour: Pour) -> Pour:
    """Keep the answer that a pour far off its forecast was no slip: the estimates believe it."""
    pour = Pour.objects.select_for_update().get(pk=pour.pk)
    pour.amounts_are_right = True
    pour.save(update_fields=["amounts_are_right"])
    return pour


@transaction.atomic
def set_pour_aside(*, pour: Pour, why: str) -> Pour:
    """Keep a pour out of what the estimates learn from, with a reason; none takes it back."""
    pour = Pour.objects.select_for_update().get(pk=pour.pk)
    pour.set_aside = why
    pour.save(update_fields=["set_aside"])
    return pour


@transaction.atomic
def undo_pour(*, pour: Pour, by: User, why: str) -> Pour:
    """Reverse a pour: everything it took is back on the shelf and its pieces are gone.

    Refused while a topcoat over it stands, while a piece of it is in a set, or when run-off kept
    from it has been used.
    """
    stock.reverse(studio=pour.studio, by=by, entry=pour.entry, why=why)
    pour.refresh_from_db()
    return pour


def pour_reversed(pour: Pour, by: User) -> None:
    """Undo the pieces and the progress of a commission once a pour's entry is reversed.

    Whoever reverses it has locked its work.
    """
    pour = Pour.objects.get(pk=pour.pk)
    if pour.topcoatings.standing().exists():
        raise PourRefused(f"{pour} has a topcoat. Undo the topcoat first.")
    if pour.pieces.exclude(piece_set=None).exists():
        raise PourRefused(f"Pieces of {pour} are in a set. Unpack the set first.")
    refuse_recovered(pour.pieces.all())
    pour.pieces.update(state=FinishedPiece.State.UNDONE)
    pour.save(update_fields=["changed_at"])
    keep_up(pour.line, by, backwards=True, note=f"{pour} undone")
    keep_piece_costs(pour, pour.studio.today())


def _move_stock(
    pour: Pour,
    layers: Mapping[str, LayerLog],
    by: User,
    used: Mapping[Material, Decimal] | None,
) -> Entry:
    """Post everything the pour moved as one entry."""
    materials, from_bottles = layer_uses(pour.palette, layers)
    coated = pour.line is not None and pour.line.topcoat_id is not None
    steps = all_steps().filter(technique=pour.technique)
    planned = amounts_used(steps, "pour", pour.surface, pour.count, coated=coated)
    moves = use_movements(materials, from_bottles, really_used(planned, used))
    surface = pour.surface.material
    if surface is not None and surface.is_stocked:
        moves.append(stock.StockMove(Movement.Kind.USE, surface, -Decimal(pour.count)))
    moves += run_off(pour, layers, materials, from_bottles)
    return stock.post(
        studio=pour.studio,
        by=by,
        moves=moves,
        uncounted=[material for material in materials if not material.is_stocked],
        work=pour.line.commission.work if pour.line else None,
        happened_at=pour.poured_at,
        purpose=f"Pour {pour.number}",
        why=f"{pour.count} × {pour.surface.name}",
    )


def _store_layers(
    pour: Pour,
    layers: Mapping[str, LayerLog],
    forecast: PieceEstimate,
    scaled: Mapping[str, Decimal],
) -> None:
    before = {layer.layer: layer for layer in forecast.layers}
    mixes = frozen_layers(pour.palette, layers)
    PourLayer.objects.bulk_create(
        PourLayer(
            pour=pour,
            layer=layer,
            mixed_ml=log.mixed_ml,
            left_ml=log.left_ml,
            kept_ml=log.kept_ml,
            from_mixes_ml=log.from_mixes_ml,
            took_value=pour.entry.took.get(layer, ZERO),
            forecast_low_ml=before[layer].low_ml if layer in before else None,
            forecast_median_ml=before[layer].median_ml if layer in before else None,
            forecast_high_ml=before[layer].high_ml if layer in before else None,
            mixes=mixes[layer],
            scaled_ml=scaled.get(layer),
        )
        for layer, log in layers.items()
    )


def _check(layers: Mapping[str, LayerLog], count: int, minutes: Decimal) -> None:
    if not layers:
        raise PourRefused("Say how much was mixed of at least one layer.")
    if not 1 <= count <= 200:
        raise PourRefused("A pour has 1 to 200 pieces.")
    if minutes < 0:
        raise PourRefused("Minutes cannot be below zero.")
    for layer, log in layers.items():
        name = PourLayer.Layer(layer).label.lower()
        parts: tuple[Decimal, ...] = (log.mixed_ml, log.left_ml, log.kept_ml, log.reclaimed_ml)
        parts += tuple(ml for _, ml in log.mixes)
        if any(part < 0 for part in parts):
            raise PourRefused(f"Amounts of the {name} cannot be below zero.")
        if log.left_ml >= log.mixed_ml:
            raise PourRefused(f"Less of the {name} must be left in the cups than was mixed.")
        if log.kept_ml > log.mixed_ml - log.left_ml:
            raise PourRefused(f"More {name} was kept as run-off than was poured.")
        if log.reclaimed_ml > log.mixed_ml:
            raise PourRefused(f"More reclaimed paint went into the {name} than was mixed.")
        if log.reclaimed_ml + log.from_mixes_ml > log.mixed_ml:
            raise PourRefused(
                f"More {name} came out of bottles than was mixed in all. Give as mixed all that "
                "was in the cups, what came from bottles included."
            )


def _check_technique(technique: Technique, layers: Mapping[str, LayerLog], base: str) -> None:
    facts = facts_of(technique.slug)
    name = technique.name.lower()
    for layer in layers:
        if layer not in facts.layers:
            raise PourRefused(
                f"A {name} has no {PourLayer.Layer(layer).label.lower()}. Leave it out, or log the "
                "pour under the technique that has it."
            )
    if problem := base_problem(technique, base):
        raise PourRefused(problem)


def _check_open(line: CommissionLine) -> None:
    line.commission.refresh_from_db(fields=["status"])
    if line.commission.status in ("declined", "cancelled", "delivered", "paid"):
        status = line.commission.get_status_display().lower()
        raise PourRefused(f"{line.commission} is {status}, so nothing is poured for it any more.")
