"""How much work takes: by layer, by mix and by material, each with its range.

*Median* is the middle; one piece of work in ten stays below *low* and one goes above *high*.
``to_mix`` is what to mix so as not to run out with the studio's chosen confidence, cups and tools
included, rounded up to something a person can measure; lines of a commission that share a palette
are mixed for together.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from django.db.models import QuerySet

from inventory.mixing.mix_book import MixBook, mix_book
from pricing.errors import NothingOrdered
from pricing.estimating.answers import CommissionEstimate, LineEstimate, PieceEstimate
from pricing.estimating.coverage import CoverageError, Line
from pricing.estimating.enough import (
    MixingRules,
    NeededPaint,
    Total,
    mixing_rules,
    needed_for_job,
    needed_paint,
)
from pricing.estimating.judgement import judge
from pricing.estimating.layers import (
    LayerEstimate,
    add_needs,
    line_of,
    mixed_layer,
    paint_layers,
    whole_items,
)
from pricing.estimating.learning import Hand, hand_of
from pricing.estimating.making import Making
from pricing.estimating.resins import Topcoat, film_layer, topcoat_layer
from pricing.estimating.sessions import SessionMix, session_mix
from pricing.estimating.sizes import geometry
from pricing.estimating.step_materials import needs_of_steps, with_steps
from pricing.estimating.surfaces import Surface
from pricing.models import Commission, CommissionLine, Palette, ResinKit, SavedSurface
from studio.errors import in_words
from studio.models import Studio
from studio.money import ZERO
from studio.units.measures import measure_set


def estimate(
    studio: Studio,
    surface: SavedSurface | Surface,
    technique_slug: str,
    count: int = 1,
    palette: Palette | None = None,
    topcoat: ResinKit | Topcoat | None = None,
    base: str = "",
) -> PieceEstimate:
    """Return a `PieceEstimate` for equal pieces of a studio.

    ``surface`` is a `SavedSurface` or a plain `surfaces.Surface`; ``topcoat`` a `ResinKit`
    or a `Topcoat` with a film of its own; ``base`` what it is poured over, where the technique is
    poured over more than one. With a palette the materials are worked out too.
    """
    plain = geometry(surface) if isinstance(surface, SavedSurface) else surface
    if topcoat is not None and not isinstance(topcoat, Topcoat):
        topcoat = Topcoat(topcoat, topcoat.film_mm)
    book = _Book(studio)
    line = line_of(plain, technique_slug, count, base)
    making = book.making(plain, line, palette, topcoat)
    needed = needed_paint(making.estimator, line, making.rules, palette)
    layers = paint_layers(needed, making.rules, palette, making.book)
    return _piece(making, layers, needed.in_measures(studio.measures), book)


def estimate_commission(commission: Commission) -> CommissionEstimate:
    """Return the `CommissionEstimate` of all lines, in a fixed number of queries.

    Raises `NothingOrdered` when the commission has no line.
    """
    lines = estimate_lines(commission.studio, commission.lines.all())
    if not lines:
        raise NothingOrdered(f"{commission} has no pieces yet. Add a size, technique and palette.")
    stages = [needs for one in lines for needs in one.by_stage.values()]
    return CommissionEstimate(lines, add_needs(*stages))


def estimate_lines(
    studio: Studio, lines: QuerySet[CommissionLine], pieces: Mapping[int, int] | None = None
) -> tuple[LineEstimate, ...]:
    """Return a `LineEstimate` for each commission line of a queryset, in a fixed number of queries.

    ``pieces`` says by a line's id how many of it to estimate, all of them if it says nothing; a
    line of which none are left is passed over. Lines of a commission that share a palette share
    their cups, and what is mixed is enough for all that is left of the commission.
    """
    lines = lines.select_related(
        "surface__material",
        "technique",
        "palette__studio",
        "topcoat__resin",
        "topcoat__hardener",
        "packaging",
        "commission",
    ).prefetch_related("palette__colours", with_steps())
    book, counts = _Book(studio), pieces or {}
    counted = [(line, counts.get(line.pk, line.pieces)) for line in lines]
    by_job: defaultdict[int, list[tuple[CommissionLine, int]]] = defaultdict(list)
    for line, count in counted:
        if count:
            by_job[line.commission_id].append((line, count))
    found = {one.line.pk: one for job in by_job.values() for one in _to_pour(job, book)}
    to_pour = [found[line.pk] for line, count in counted if count]
    by_cups: defaultdict[tuple[int, int], list[_ToPour]] = defaultdict(list)
    for one in to_pour:
        by_cups[one.line.commission_id, one.line.palette_id].append(one)
    cups = {key: _cups(some, studio.measures) for key, some in by_cups.items()}
    return tuple(
        _line(
            one,
            by_cups[one.line.commission_id, one.line.palette_id].index(one),
            cups[one.line.commission_id, one.line.palette_id],
            book,
        )
        for one in to_pour
    )


def common_estimate(
    surface: Surface,
    technique_slug: str,
    count: int = 1,
    measures: str = "us",
    film_mm: Decimal | None = None,
    base: str = "",
) -> PieceEstimate:
    """Return a `PieceEstimate` from common practice alone, without any studio.

    ``film_mm`` adds a resin topcoat of that film, with the loss makers of resin publish; ``base``
    is what is poured over, where the technique is poured over more than one.
    """
    measure_set(measures)
    hand = hand_of()
    rules = MixingRules(measures)
    needed = needed_paint(hand.estimator, line_of(surface, technique_slug, count, base), rules)
    layers = paint_layers(needed, rules)
    judged = judge(hand, surface, technique_slug, layers, count)
    if film_mm is not None:
        layers = (*layers, film_layer(surface, count, film_mm, measures))
    total = needed.in_measures(measures)
    return PieceEstimate(surface, technique_slug, count, layers, {}, judged, total=total, base=base)


class _Book:
    """What estimates of a studio rest on, each loaded when first needed and then kept."""

    def __init__(self, studio: Studio) -> None:
        self.studio = studio

    @cached_property
    def hand(self) -> Hand:
        return hand_of(self.studio)

    @cached_property
    def mixes(self) -> MixBook:
        return mix_book(self.studio)

    def making(
        self, surface: Surface, line: Line, palette: Palette | None, topcoat: Topcoat | None
    ) -> Making:
        rules = mixing_rules(self.studio, self.hand, line.technique)
        mixes = self.mixes if palette else None
        return Making(
            self.studio, self.hand.estimator, surface, line, rules, palette, mixes, topcoat
        )


@dataclass(frozen=True)
class _ToPour:
    """Pieces of a commission's line, as they are asked about, and what they need."""

    line: CommissionLine
    making: Making
    needed: NeededPaint


def _to_pour(lines: Sequence[tuple[CommissionLine, int]], book: _Book) -> list[_ToPour]:
    """Return the lines of one commission, so many pieces of each, as one job."""
    makings = [_making(line, count, book) for line, count in lines]
    with in_words(CoverageError):
        job = book.hand.estimator.job([one.line for one in makings])
        needed = needed_for_job(job, [line.palette for line, _ in lines], makings[0].rules)
    return [
        _ToPour(line, making, need)
        for (line, _), making, need in zip(lines, makings, needed, strict=True)
    ]


def _making(line: CommissionLine, count: int, book: _Book) -> Making:
    surface = geometry(line.surface)
    topcoat = Topcoat(line.topcoat, line.topcoat.film_mm) if line.topcoat else None
    asked = line_of(surface, line.technique.slug, count, line.base)
    return book.making(surface, asked, line.palette, topcoat)


def _cups(together: Sequence[_ToPour], measures: str) -> dict[str, SessionMix]:
    """Return by layer what to mix for lines of one palette."""
    palette = together[0].line.palette
    layers = dict.fromkeys(one.layer for work in together for one in work.needed.layers)
    return {
        layer: session_mix(
            layer,
            [one.needed.needed_ml(layer) for one in together],
            measures,
            palette,
            sum((one.needed.least_ml(layer) for one in together), ZERO),
        )
        for layer in layers
    }


def _line(work: _ToPour, place: int, cups: Mapping[str, SessionMix], book: _Book) -> LineEstimate:
    line, making = work.line, work.making
    layers = tuple(
        mixed_layer(one, cups[one.layer], place, making.rules, line.palette, making.book)
        for one in work.needed.layers
    )
    piece = _piece(making, layers, work.needed.in_measures(making.rules.measures), book)
    surface = whole_items(line.surface.material, piece.count)
    steps = needs_of_steps(
        line.technique.steps.all(), making.surface, piece.count, coated=line.topcoat is not None
    )
    if line.is_test:  # not packed, so nothing of the last steps is used
        steps = {act: needs for act, needs in steps.items() if act != "pack"}
    return LineEstimate(line, piece, surface, whole_items(line.packaging, line.to_pack), steps)


def _piece(
    making: Making, layers: tuple[LayerEstimate, ...], total: Total, book: _Book
) -> PieceEstimate:
    """Return the estimate of pieces whose layers of paint are known: judged, and with its resin."""
    surface, line, topcoat = making.surface, making.line, making.topcoat
    under_resin = topcoat is not None
    judged = judge(book.hand, surface, line.technique, layers, line.count, under_resin=under_resin)
    if topcoat is not None:
        resin, resin_advice = topcoat_layer(making.studio, surface, line.count, topcoat)
        layers, judged = (*layers, resin), (*judged, *resin_advice)
    return PieceEstimate(
        surface,
        line.technique,
        line.count,
        layers,
        add_needs(*(layer.materials for layer in layers)),
        judged,
        making.rules.keeping,
        total,
        line.base,
        making,
    )
