"""What pieces that are planned are fit for: what will lie on them, and what that has said of it."""

from pricing.fitness import Doubt, Finish, counts_as, doubts, words_of
from pricing.models import CommissionLine, ResinKit, SavedSurface
from studio.units import ParsedSize


def finish_under(kit: ResinKit | None) -> Finish:
    """Return what lies on pieces under a kit's resin, or on bare ones."""
    if kit is None:
        return Finish()
    return Finish((kit.heat_limit_c,), cure_known=kit.cure_hours is not None)


def use_on(size: SavedSurface | ParsedSize, use: str, pieces_each: int = 1) -> str:
    """Return what pieces of a size count as being for."""
    longest_mm = max(size.width_mm, size.height_mm)
    return counts_as(use, longest_mm=longest_mm, pieces_each=pieces_each)


def doubts_of(line: CommissionLine) -> tuple[Doubt, ...]:
    """Return why what a line asks for is not fit for what it is for, or counts as being for.

    A test tile is only looked at.
    """
    if line.is_test:
        return ()
    return doubts_on(line.surface, line.use, line.topcoat, line.pieces_each)


def doubts_on(
    size: SavedSurface | ParsedSize, use: str, kit: ResinKit | None, pieces_each: int = 1
) -> tuple[Doubt, ...]:
    """Return why pieces of a size, under a resin or bare, are not fit for what they are for."""
    return doubts(use_on(size, use, pieces_each), finish_under(kit))


def what_fits(line: CommissionLine) -> tuple[object, ...]:
    """Return all that it hangs on whether what a line asks for is fit for what it is for."""
    counted = use_on(line.surface, line.use, line.pieces_each)
    return line.surface_id, line.topcoat_id, line.use, counted, line.is_test


def words_of_line(line: CommissionLine) -> tuple[str, ...]:
    """Return what is said of heat and food wherever a line is offered or sold."""
    return words_of(line.use, finish_under(line.topcoat))
