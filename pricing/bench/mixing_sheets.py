"""Mixing sheets: the cups of one piece or of a whole day's pieces, ready to mix.

Equal mixes of several pieces share a cup, and a mix that is part of others is mixed first.
"""

from collections import defaultdict
from collections.abc import Collection, Hashable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet

from inventory.mixing.mix_book import MixBook
from inventory.mixing.mixes import mixes_on_hand
from inventory.mixing.proportions import MixingError
from inventory.models import Bottle, Material, Recipe
from inventory.supplies.hazards import hazards_of
from pricing.bench.courses import Course, course_of
from pricing.bench.mixes_then import MixThen, mixes_then
from pricing.bench.sessions import session_layers
from pricing.bench.work_shelf import Portion, WorkShelf
from pricing.commissions.commission_holds import finished_counts
from pricing.estimating import mixing
from pricing.estimating.advice import Advice, silicone_in_base
from pricing.estimating.answers import PieceEstimate
from pricing.estimating.batches import OneBatch, for_lines, for_pieces
from pricing.estimating.estimates import estimate_lines
from pricing.estimating.layers import LayerEstimate
from pricing.estimating.learning import hand_of
from pricing.models import Commission, CommissionLine, LabourStep, Palette
from studio.cautions import FIRST, cautions_of
from studio.errors import in_words
from studio.models import Studio
from studio.pdf import paper, render_pdf
from studio.templatetags.amounts import hours
from studio.units import kitchen_measure


@dataclass(frozen=True)
class PiecesToMix:
    """Pieces to mix for: what they are, in a few words, their estimate, and their palette.

    ``line`` is the commission's line that they are poured for, if they are for one, and ``like``
    the number of a pour that they are to be like, if of one.
    """

    label: str
    piece: PieceEstimate
    palette: Palette | None
    line: CommissionLine | None = None
    like: int | None = None


@dataclass(frozen=True)
class Addition:
    """One thing that goes into a cup: `mixing.CupStep` with its kitchen measure and its swatch."""

    step: mixing.CupStep
    measure: str
    material: Material | None


@dataclass(frozen=True)
class Cup:
    """One mix: its recipe with the trace it should have, how much, and what goes in, in order.

    ``ready`` is what is taken from bottles that hold some of it already, in the order of use, and
    ``volume_ml`` what is to be mixed beside it; ``kept`` are bottles that are not counted, since
    they are expired or promised to other work. ``silicone`` is the advice on a base coat that has
    silicone in it or in them. ``was`` is the mix as it was in pours that these are to be like.
    """

    recipe: Recipe
    volume_ml: Decimal
    measure: str
    mass_g: Decimal | None
    additions: tuple[Addition, ...]
    labels: tuple[str, ...]
    note: str
    ready: tuple[Portion, ...] = ()
    kept: tuple[Bottle, ...] = ()
    silicone: Advice | None = None
    was: tuple[MixThen, ...] = ()


@dataclass(frozen=True)
class Coat:
    """The resin over some pieces, mixed once their paint is dry."""

    label: str
    layer: LayerEstimate


@dataclass(frozen=True)
class MixingSheet:
    """What to mix for several pieces: cups of paint in the order of mixing, then resin.

    ``one_batch`` is what one batch a layer saves, of one commission or a plan.
    """

    works: tuple[PiecesToMix, ...]
    cups: tuple[Cup, ...]
    coats: tuple[Coat, ...]
    one_batch: OneBatch | None = None
    courses: tuple[Course, ...] = ()

    @property
    def hazards(self) -> tuple[str, ...]:
        """The acts to be minded, see `studio.cautions`: those of mixing first, then of pouring."""
        poured = [
            one.material for cup in self.cups for one in cup.additions if one.material is not None
        ]
        paint = (*hazards_of(poured), "tile", "flame", "paint-waste") if self.cups else ()
        resin = ("resin", "flame", "sanding", "resin-waste", "food") if self.coats else ()
        steps = [act for one in self.courses for act in one.hazards]
        return tuple(dict.fromkeys([*resin, *steps, *paint]))


def commission_sheet(
    studio: Studio, commissions: Collection[Commission], palette: Palette | None = None
) -> MixingSheet:
    """Return the `MixingSheet` of what some commissions have left to pour and to coat.

    With a ``palette`` it is what one session pours: the lines of that palette, without resin. A
    fixed number of queries, however many commissions there are.
    """
    lines = CommissionLine.objects.filter(commission__in=commissions, commission__studio=studio)
    if palette is not None:
        lines = lines.filter(palette=palette)
    lines = lines.order_by("commission__due_on", "commission__number", "position", "pk")
    to_pour, to_coat = left_to_do(lines)
    estimates = estimate_lines(studio, lines, to_pour)
    works = [
        PiecesToMix(
            f"{one.piece.count} × {one.line.surface.name}",
            one.piece,
            one.line.palette,
            one.line,
            one.line.like_pour,
        )
        for one in estimates
    ]
    one_batch = for_lines(estimates) if len(commissions) == 1 else None
    if palette is not None:
        return _sheet(studio, works, [], commissions, one_batch)
    coats = [
        Coat(f"{one.piece.count} × {one.line.surface.name}", resin)
        for one in estimate_lines(studio, lines.exclude(topcoat=None), to_coat)
        if (resin := one.piece.layer("topcoat"))
    ]
    return _sheet(studio, works, coats, commissions, one_batch)


def plan_sheet(
    studio: Studio,
    piece: PieceEstimate,
    label: str,
    palette: Palette | None = None,
    like: int | None = None,
) -> MixingSheet:
    """Return the sheet of a plan: its paint, and the resin over it; no palette, no paint.

    ``like`` is the number of a pour that it is to be like.
    """
    topcoat = piece.layer("topcoat")
    coats = [Coat(label, topcoat)] if topcoat else []
    works = [PiecesToMix(label, piece, palette, like=like)]
    return _sheet(studio, works, coats, one_batch=for_pieces(piece) if palette else None)


def left_to_do(lines: QuerySet[CommissionLine]) -> tuple[dict[int, int], dict[int, int]]:
    """Return, by line, how many pieces have yet to be poured well, and to be coated."""
    finished, coated, _ = finished_counts(lines)
    pieces_by_line = {line.pk: line.pieces for line in lines}
    to_pour, to_coat = (
        {pk: max(pieces - counts[pk], 0) for pk, pieces in pieces_by_line.items()}
        for counts in (finished, coated)
    )
    return to_pour, to_coat


def _sheet(
    studio: Studio,
    works: Sequence[PiecesToMix],
    coats: Sequence[Coat],
    commissions: Collection[Commission] = (),
    one_batch: OneBatch | None = None,
) -> MixingSheet:
    shelf = WorkShelf(studio, commissions, studio.today())
    by_palette: defaultdict[Palette, list[tuple[str, PieceEstimate]]] = defaultdict(list)
    for work in works:
        if work.palette is not None:
            by_palette[work.palette].append((work.label, work.piece))
    layers = [
        layer
        for palette, some in by_palette.items()
        for layer in session_layers(studio, palette, some)
    ]
    jobs = [
        mixing.MixRequest(shelf.book.mix(recipe), ml, layer.label, layer.least(ml))
        for layer in layers
        for recipe, ml in layer.mix.mixes
    ]
    with in_words(MixingError):
        batches = mixing.mixing_sheet(jobs, ready=shelf.ready([job.recipe.key for job in jobs]))
    there: defaultdict[Hashable, list[Bottle]] = defaultdict(list)
    for bottle in mixes_on_hand(studio, [shelf.book.recipes[batch.key] for batch in batches]):
        there[bottle.material.recipe.pk].append(bottle)
    bases = {recipe for layer in layers if layer.layer == "base" for recipe, _ in layer.mix.mixes}
    then = mixes_then(studio, {one.like for one in works if one.like}, shelf.book)
    cups = tuple(
        _cup(batch, shelf, studio.measures, there[batch.key], batch.key in bases, then)
        for batch in batches
    )
    return MixingSheet(tuple(works), cups, tuple(coats), one_batch, _courses(studio, works))


def _courses(studio: Studio, works: Sequence[PiecesToMix]) -> tuple[Course, ...]:
    """Return what is done around the pieces before and after they are poured, in three queries."""
    hand = hand_of(studio)
    steps: defaultdict[str, list[LabourStep]] = defaultdict(list)
    rows = LabourStep.objects.filter(technique__studio=studio)
    for one in rows.select_related("technique", "material"):
        steps[one.technique.slug].append(one)
    found = (
        course_of(work.label, work.piece, steps[work.piece.technique], hand, _cure_of(work.piece))
        for work in works
    )
    return tuple(one for one in found if one.before or one.after)


def _cure_of(piece: PieceEstimate) -> str:
    topcoat = piece.layer("topcoat")
    plan = topcoat.plan if topcoat else None
    return hours(plan.cure_after_hours) if plan else ""


def sheet_pdf(studio: Studio, sheet: MixingSheet, title: str, day: date) -> bytes:
    """Return a mixing sheet as the bytes of a PDF to lay beside the scale."""
    context = {
        "studio": studio,
        "paper": paper(studio.locale),
        "sheet": sheet,
        "sheet_title": title,
        "day": day,
        "cautions": cautions_of(*sheet.hazards),
        "first": FIRST,
    }
    return render_pdf("pricing/bench/pdf/mixing_sheet.html", context)


def _cup(
    batch: mixing.CupBatch,
    shelf: WorkShelf,
    measures: str,
    there: Sequence[Bottle],
    is_base: bool,
    then: Sequence[MixThen],
) -> Cup:
    book = shelf.book
    ready = shelf.take_mix(batch.key, batch.ready_ml)[0] if batch.ready_ml else []
    pks_in_use = {one.bottle.pk for one in ready}
    return Cup(
        recipe=book.recipes[batch.key],
        volume_ml=batch.volume_ml,
        measure=kitchen_measure(batch.volume_ml, measures) if batch.volume_ml else "",
        mass_g=batch.mass_g,
        additions=tuple(
            Addition(
                step=step,
                measure=kitchen_measure(step.ml, measures),
                material=None if step.is_mix else book.materials[step.key],
            )
            for step in batch.steps
        ),
        labels=batch.labels,
        note=batch.note,
        ready=tuple(ready),
        kept=tuple(bottle for bottle in there if bottle.pk not in pks_in_use),
        silicone=_silicone(batch, book, there) if is_base else None,
        was=tuple(one for one in then if batch.key in one.recipe_ids),
    )


def _silicone(batch: mixing.CupBatch, book: MixBook, there: Sequence[Bottle]) -> Advice | None:
    """Return the advice on a base coat with silicone in it, or in what is there; None without."""
    sources = [str(bottle) for bottle in there if bottle.holds_silicone]
    parts = (book.materials[key] for key in book.things_in(batch.key))
    sources += sorted(one.name for one in parts if one.has_silicone)
    return silicone_in_base(sources) if sources else None
