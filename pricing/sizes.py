"""Sizes as people write them, and the surfaces they are."""

from django.db import transaction

from pricing import surfaces
from pricing.belonging import refuse_strangers
from pricing.models import SavedSurface
from studio.errors import in_words
from studio.units import ParsedSize, UnitsError, format_size, parse_size


def read_surface(text):
    """Return the plain surface of a size such as ``8x8x1.5in``; all its sides are painted.

    Raises `Refused` with a sentence that says which sizes are accepted.
    """
    with in_words(UnitsError):
        return surface_of(parse_size(text))


def surface_of(size):
    """Return the plain surface of a `ParsedSize`; all its sides are painted."""
    with in_words(surfaces.SurfaceError):
        return plain_surface(
            size.shape,
            width_mm=size.width_mm,
            height_mm=size.height_mm,
            depth_mm=size.depth_mm,
            sides=size.sides,
            inner_mm=size.inner_mm,
        )


def plain_surface(
    shape,
    *,
    width_mm,
    height_mm,
    depth_mm=0,
    painted_sides="all",
    inset_mm=0,
    sides=None,
    inner_mm=None,
    outline="",
):
    """Return the surface of a shape and its dimensions, [mm], for the arithmetic."""
    more = {
        "depth_mm": float(depth_mm),
        "painted_sides": painted_sides or "all",
        "inset_mm": float(inset_mm),
    }
    if shape == "outline":
        return surfaces.outline(outline, **more)
    width = float(width_mm)
    if shape == "circle":
        return surfaces.circle(width, **more)
    if shape == "polygon":
        return surfaces.regular_polygon(width, sides or 0, **more)
    if shape == "ring":
        return surfaces.ring(width, float(inner_mm or 0), **more)
    make = surfaces.oval if shape == "oval" else surfaces.rectangle
    return make(width, float(height_mm), **more)


@transaction.atomic
def get_or_make_surface(studio, size, *, material=None, name=""):
    """Return the studio's surface of a size, saved when it is new.

    ``size`` is text such as ``10 × 10 cm`` or a `ParsedSize`. One with the same shape and
    dimensions, of the same stock item, is taken as it is.

    Raises `Refused` with a sentence that says which sizes are accepted.
    """
    refuse_strangers(studio, material)
    with in_words(UnitsError):
        parsed = size if isinstance(size, ParsedSize) else parse_size(size)
    dimensions = {
        "shape": parsed.shape,
        "width_mm": _hundredth(parsed.width_mm),
        "height_mm": _hundredth(parsed.height_mm),
        "depth_mm": _hundredth(parsed.depth_mm),
        "sides": parsed.sides,
        "inner_mm": None if parsed.inner_mm is None else _hundredth(parsed.inner_mm),
    }
    known = studio.surfaces.filter(
        **dimensions, material=material, inset_mm=0, sides_painted="all", archived_at=None
    ).first()
    if known is not None:
        return known
    nominal = size.strip() if isinstance(size, str) else format_size(parsed, studio.lengths)
    saved = SavedSurface(
        studio=studio,
        name=_free_name(studio, name or (str(material) if material else nominal)),
        nominal=nominal[:60],
        material=material,
        **dimensions,
    )
    saved.geometry()
    saved.save()
    return saved


def _hundredth(length_mm):
    return round(length_mm, 2)


def _free_name(studio, wanted):
    """Return a name no surface of the studio has: the one wanted, or with a number after it."""
    wanted = wanted[:70]
    taken = set(studio.surfaces.filter(name__startswith=wanted).values_list("name", flat=True))
    if wanted not in taken:
        return wanted
    return next(
        f"{wanted} ({n})" for n in range(2, len(taken) + 3) if f"{wanted} ({n})" not in taken
    )
