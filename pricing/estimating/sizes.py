"""Sizes as people write them, and the surfaces they are."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any, TypedDict, Unpack

from django.db import transaction

from inventory.models import Material
from pricing.estimating import surfaces
from pricing.estimating.surfaces import Surface
from pricing.models import SavedSurface
from studio.errors import StudioError, in_words
from studio.models import Studio
from studio.rows import refuse_strangers
from studio.text import shortened
from studio.units import ParsedSize, UnitsError, format_size, parse_size

LENGTHS = {"width_mm", "height_mm", "depth_mm", "inner_mm"}


class Edge(TypedDict, total=False):
    """How a surface's edges are: which sides are painted, and how wide its bevel is."""

    painted_sides: str
    inset_mm: float


def read_surface(text: str) -> Surface:
    """Return the plain surface of a size such as ``8x8x1.5in``; all its sides are painted.

    Raises `Refused` with a sentence that says which sizes are accepted.
    """
    with in_words(UnitsError):
        return surface_of(parse_size(text))


def surface_of(size: ParsedSize) -> Surface:
    """Return the plain surface of a `ParsedSize`; all its sides are painted."""
    with in_words(surfaces.SurfaceError):
        return _plain(size)


def geometry(saved: SavedSurface) -> Surface:
    """Return the plain surface of a `SavedSurface`, for the arithmetic.

    Raises `Refused` with a sentence when its dimensions make none.
    """
    more: Edge = {"painted_sides": saved.sides_painted, "inset_mm": float(saved.inset_mm)}
    with in_words(surfaces.SurfaceError):
        if saved.shape == saved.Shape.OUTLINE:
            return surfaces.outline(saved.outline, depth_mm=float(saved.depth_mm), **more)
        return _plain(saved, **more)


def kept_as(surface: Surface, kept: Iterable[SavedSurface], named: str = "") -> SavedSurface | None:
    """Return the one of the kept sizes that a plain surface is, the one so named first, or None."""
    name = named.strip().casefold()
    for row in sorted(kept, key=lambda row: row.name.casefold() != name):
        try:
            if geometry(row) == surface:
                return row
        except StudioError:  # a shape that cannot be is none that was asked for
            continue
    return None


def _plain(measured: ParsedSize | SavedSurface, **more: Unpack[Edge]) -> Surface:
    width, height = float(measured.width_mm), float(measured.height_mm)
    depth = float(measured.depth_mm)
    if measured.shape == "circle":
        return surfaces.circle(width, depth, **more)
    if measured.shape == "polygon":
        return surfaces.regular_polygon(width, measured.sides or 0, depth, **more)
    if measured.shape == "ring":
        return surfaces.ring(width, float(measured.inner_mm or 0), depth, **more)
    make = surfaces.oval if measured.shape == "oval" else surfaces.rectangle
    return make(width, height, depth, **more)


def measure(
    saved: SavedSurface,
    size: ParsedSize | None = None,
    *,
    outline: str = "",
    depth_mm: Decimal | None = None,
    inset_mm: Decimal | None = None,
    sides_painted: str = "all",
) -> None:
    """Give a surface, saved or new, the dimensions that were read; it is not written down yet.

    They are those of ``size``, a `ParsedSize`, or else of ``outline`` with sides of ``depth_mm``.

    Raises `Refused` when they make no surface.
    """
    if outline:
        with in_words(surfaces.SurfaceError):
            across, down = zip(*surfaces.outline_points(outline), strict=True)
        width, height = (Decimal(str(max(side) - min(side))) for side in (across, down))
        size = ParsedSize("outline", width, height, depth_mm or Decimal(0))
    assert size is not None  # the form asks for one of the two
    for name, value in _dimensions(size).items():
        setattr(saved, name, value)
    saved.inset_mm = round(inset_mm or Decimal(0), 2)
    saved.outline, saved.sides_painted = outline, sides_painted
    geometry(saved)


def sketch_of(studio: Studio, measured: ParsedSize | SavedSurface) -> SavedSurface:
    """Return a size as a surface to reckon with, not written down: a kept one is itself."""
    if isinstance(measured, SavedSurface):
        return measured
    name = format_size(measured, studio.lengths)
    return SavedSurface(studio=studio, name=name, nominal=name, **_dimensions(measured))


@transaction.atomic
def get_or_make_surface(
    studio: Studio, size: str | ParsedSize, *, material: Material | None = None, name: str = ""
) -> SavedSurface:
    """Return the studio's surface of a size, saved when it is new.

    ``size`` is text such as ``10 × 10 cm`` or a `ParsedSize`. One with the same shape and
    dimensions, of the same stock item, is taken as it is.

    Raises `Refused` with a sentence that says which sizes are accepted.
    """
    refuse_strangers(studio, material)
    with in_words(UnitsError):
        parsed = size if isinstance(size, ParsedSize) else parse_size(size)
    dimensions = _dimensions(parsed)
    existing = studio.surfaces.filter(
        **dimensions, material=material, inset_mm=0, sides_painted="all", archived_at=None
    ).first()
    if existing is not None:
        return existing
    nominal = size.strip() if isinstance(size, str) else format_size(parsed, studio.lengths)
    saved = SavedSurface(
        studio=studio,
        name=_free_name(studio, name or (str(material) if material else nominal)),
        nominal=nominal,
        material=material,
        **dimensions,
    )
    geometry(saved)
    saved.save()
    return saved


def _dimensions(size: ParsedSize) -> dict[str, Any]:
    """Return what a size measures as a saved surface keeps it."""
    dimensions = {name: getattr(size, name) for name in SavedSurface.DIMENSIONS}
    return {
        name: _hundredth(value) if name in LENGTHS else value for name, value in dimensions.items()
    }


def _hundredth(length_mm: Decimal | None) -> Decimal | None:
    return None if length_mm is None else round(length_mm, 2)


def _free_name(studio: Studio, name: str) -> str:
    """Return a name no surface of the studio has: the one wanted, or with a number after it."""
    name = shortened(name, 70)
    taken_names = set(studio.surfaces.filter(name__startswith=name).values_list("name", flat=True))
    if name not in taken_names:
        return name
    return next(
        f"{name} ({n})"
        for n in range(2, len(taken_names) + 3)
        if f"{name} ({n})" not in taken_names
    )
