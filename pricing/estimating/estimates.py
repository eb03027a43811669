"""How much work takes: by layer, by mix and by material, each with its range.

*Median* is the middle; one piece of work in ten stays below *low* and one goes above *high*.
``to_mix`` is what to mix so as not to run out with the studio's chosen confidence, cups and tools
included, rounded up to something a person can measure.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

from django.db.models import QuerySet

from inventory.mixing.mix_book import MixBook, mix_book
from inventory.models import Material
from pricing.errors import NothingOrdered
from pricing.estimating.advice import Advice, warnings
from pricing.estimating.judgement import judge
from pricing.estimating.layers import LayerEstimate, Need, add_needs, paint_layers
from pricing.estimating.learning import Hand, hand_of
from pricing.estimating.resins import Topcoat, film_layer, topcoat_layer
from pricing.estimating.sizes import geometry
from pricing.estimating.surfaces import Surface
from pricing.models import Commission, CommissionLine, Palette, ResinKit, SavedSurface
from studio.models import Studio
from studio.units.measures import measure_set


@dataclass(frozen=True)
class PieceEstimate:
    """What ``count`` equal pieces take together.

    ``layers`` are `LayerEstimate` in the order they are poured; ``materials`` is
    {material: Need} over all layers, empty without a palette and kit; ``advice`` is everything that
    was judged.
    """

    surface: Surface
    technique: str
    count: int
    layers: tuple[LayerEstimate, ...]
    materials: dict[Material, Need] = field(default_factory=dict)
    advice: tuple[Advice, ...] = ()

    @property
    def outside_measured(self) -> bool:
        """Whether the size lies outside what has been measured, for any layer."""
        return any(layer.outside_measured for layer in self.layers)

    @property
    def has_resin(self) -> bool:
        """Whether resin is poured, so that its cautions must be shown."""
        return any(layer.plan for layer in self.layers)

    @property
    def warned(self) -> tuple[Advice, ...]:
        """The advice past its limit, the gravest first."""
        return warnings(self.advice)

    @property
    def warnings(self) -> tuple[str, ...]:
        """Sentences of what needs doing, the gravest first."""
        return tuple(one.sentence for one in self.warned)

    def layer(self, name: str) -> LayerEstimate | None:
        """Return the estimate of one layer, or None."""
        return next((layer for layer in self.layers if layer.layer == name), None)


@dataclass(frozen=True)
class LineEstimate:
    """A commission's line: its pieces, and what they are poured on and packed in."""

    line: CommissionLine
    piece: PieceEstimate
    surface: dict[Material, Need]
    packaging: dict[Material, Need]

    @property
    def by_stage(self) -> dict[str, dict[Material, Need]]:
        """Needs by when they are used: poured (with the surface), coated, packed."""
        paint = [layer.materials for layer in self.piece.layers if layer.layer != "topcoat"]
        resin = [layer.materials for layer in self.piece.layers if layer.layer == "topcoat"]
        return {
            "pour": add_needs(*paint, self.surface),
            "coat": add_needs(*resin),
            "pack": self.packaging,
        }


@dataclass(frozen=True)
class CommissionEstimate:
    """All lines of a commission, and what they need together."""

    lines: tuple[LineEstimate, ...]
    needs: dict[Material, Need]

    @property
    def warnings(self) -> tuple[str, ...]:
        """Sentences of what needs doing, each once."""
        return tuple(dict.fromkeys(text for one in self.lines for text in one.piece.warnings))

    @property
    def has_resin(self) -> bool:
        """Whether resin is poured on any line."""
        return any(one.piece.has_resin for one in self.lines)

    @property
    def outside_measured(self) -> bool:
        """Whether any line's size lies outside what has been measured."""
        return any(one.piece.outside_measured for one in self.lines)


def estimate(
    studio: Studio,
    surface: SavedSurface | Surface,
    technique_slug: str,
    count: int = 1,
    palette: Palette | None = None,
    topcoat: ResinKit | Topcoat | None = None,
) -> PieceEstimate:
    """Return a `PieceEstimate` for equal pieces of a studio.

    ``surface`` is a `SavedSurface` or a plain `surfaces.Surface`; ``topcoat`` a `ResinKit`
    or a `Topcoat` with a film of its own. With a palette the materials are worked out too.
    """
    return _estimate(studio, surface, technique_slug, count, palette, topcoat, _Book(studio))


def estimate_commission(commission: Commission) -> CommissionEstimate:
    """Return the `CommissionEstimate` of all lines, in a fixed number of queries.

    Raises `NothingOrdered` when the commission has no line.
    """
    found = estimate_lines(commission.studio, commission.lines.all())
    if not found:
        raise NothingOrdered(f"{commission} has no pieces yet. Add a size, technique and palette.")
    stages = [needs for one in found for needs in one.by_stage.values()]
    return CommissionEstimate(found, add_needs(*stages))


def estimate_lines(
    studio: Studio, lines: QuerySet[CommissionLine], pieces: Mapping[int, int] | None = None
) -> tuple[LineEstimate, ...]:
    """Return a `LineEstimate` for each commission line of a queryset, in a fixed number of queries.

    ``pieces`` says by a line's id how many of it to estimate, all of them if it says nothing; a
    line of which none are left is passed over.
    """
    lines = lines.select_related(
        "surface__material",
        "technique",
        "palette__studio",
        "topcoat__resin",
        "topcoat__hardener",
        "packaging",
        "commission",
    ).prefetch_related("palette__colours", "technique__steps")
    book, counts = _Book(studio), pieces or {}
    asked = [(line, counts.get(line.pk, line.pieces)) for line in lines]
    return tuple(_line(studio, line, count, book) for line, count in asked if count)


def common_estimate(
    surface: Surface,
    technique_slug: str,
    count: int = 1,
    measures: str = "us",
    film_mm: Decimal | None = None,
) -> PieceEstimate:
    """Return a `PieceEstimate` from common practice alone, without any studio.

    ``film_mm`` adds a resin topcoat of that film, with the loss makers of resin publish.
    """
    measure_set(measures)
    hand = hand_of()
    layers = paint_layers(hand.estimator, surface, technique_slug, count, measures=measures)
    judged = judge(hand, surface, technique_slug, layers, count)
    if film_mm is not None:
        layers = (*layers, film_layer(surface, count, film_mm, measures))
    return PieceEstimate(surface, technique_slug, count, layers, {}, judged)


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


def _line(studio: Studio, line: CommissionLine, count: int, book: _Book) -> LineEstimate:
    topcoat = line.topcoat
    piece = _estimate(studio, line.surface, line.technique.slug, count, line.palette, topcoat, book)
    surface = _whole(line.surface.material, count)
    return LineEstimate(line, piece, surface, _whole(line.packaging, line.quantity))


def _whole(material: Material | None, count: int) -> dict[Material, Need]:
    if material is None:
        return {}
    return {material: Need(Decimal(count), Decimal(count), Decimal(count))}


def _estimate(
    studio: Studio,
    surface: SavedSurface | Surface,
    technique_slug: str,
    count: int,
    palette: Palette | None,
    topcoat: ResinKit | Topcoat | None,
    book: _Book,
) -> PieceEstimate:
    plain = geometry(surface) if isinstance(surface, SavedSurface) else surface
    if topcoat is not None and not isinstance(topcoat, Topcoat):
        topcoat = Topcoat(topcoat, topcoat.film_mm)
    layers = paint_layers(
        book.hand.estimator,
        plain,
        technique_slug,
        count,
        measures=studio.measures,
        confidence=studio.mix_confidence,
        cup_loss=studio.cup_loss,
        palette=palette,
        book=book.mixes if palette else None,
    )
    judged = judge(book.hand, plain, technique_slug, layers, count, under_resin=topcoat is not None)
    if topcoat is not None:
        resin, resin_advice = topcoat_layer(studio, plain, count, topcoat)
        layers, judged = (*layers, resin), (*judged, *resin_advice)
    materials = add_needs(*(layer.materials for layer in layers))
    return PieceEstimate(plain, technique_slug, count, layers, materials, judged)
