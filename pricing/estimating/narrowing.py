"""Which middle size to pour first, so that a large one is known better."""

from collections.abc import Iterable
from dataclasses import dataclass

from pricing.estimating.coverage import CoverageError, Estimator, Line
from pricing.estimating.layers import line_of
from pricing.estimating.sizes import geometry, read_surface
from pricing.estimating.surfaces import Surface
from pricing.models import SavedSurface
from studio.errors import StudioError, in_words

# How wide a total must be, high to low, for a pour to be worth it, and by how much it must narrow.
WIDE, WORTH_IT = 2.0, 0.85
# A middle size has at most so much of the area that is asked about, and at least so much.
MOST, LEAST = 0.6, 0.1
# Offered where a studio keeps no middle size.
MIDDLES = ("8 × 8 × ¾ in", "12 × 12 × ¾ in", "16 × 20 × ¾ in", "24 × 30 × ¾ in")
TRIED = 12


@dataclass(frozen=True)
class Narrowing:
    """A size to pour first: how many times the low figure of the total the high one is, [-]."""

    size: str
    before: float
    after: float

    @property
    def sentence(self) -> str:
        """What to do, and what it brings."""
        return (
            f"Pour {self.size} first: it narrows this from ×{self.before:.1f} to ×{self.after:.1f}."
        )


def narrowing(
    estimator: Estimator, line: Line, surfaces: Iterable[SavedSurface]
) -> Narrowing | None:
    """Return the middle size whose pour would narrow a line's total most, if it is worth it.

    ``surfaces`` are those that the studio keeps; without a middle one, usual sizes are tried.
    """
    with in_words(CoverageError):
        before = estimator.job([line]).total().width
        if before < WIDE:
            return None
        tried = [
            Narrowing(name, before, estimator.job([line, first]).once_poured().total().width)
            for name, surface in _middles(surfaces, line.wetted_area_mm2)
            for first in [line_of(surface, line.technique, 1, line.base)]
        ]
    best = min(tried, key=lambda one: one.after, default=None)
    return best if best and best.after < WORTH_IT * best.before else None


def _middles(surfaces: Iterable[SavedSurface], area_mm2: float) -> list[tuple[str, Surface]]:
    """Return (name, surface) of middle sizes: the studio's own, or else usual ones."""
    own = _read(surfaces)
    usual = [(name, read_surface(name)) for name in MIDDLES]
    for sizes in (own, usual):
        middles = [
            one for one in sizes if LEAST * area_mm2 <= one[1].wetted_area_mm2 <= MOST * area_mm2
        ]
        if middles:
            return middles[-TRIED:]
    return []


def _read(surfaces: Iterable[SavedSurface]) -> list[tuple[str, Surface]]:
    sizes = []
    for saved in surfaces:
        try:
            sizes.append((str(saved), geometry(saved)))
        except StudioError:
            continue
    return sorted(sizes, key=lambda one: one[1].wetted_area_mm2)
