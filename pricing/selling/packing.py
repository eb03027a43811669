"""Pieces about to be packed: found and locked, and refused where they do not go together."""

from collections.abc import Iterable, Sequence

from pricing.errors import SetRefused
from pricing.models import Commission, CommissionLine, FinishedPiece, PieceSet, Topcoating
from studio.models import Studio


def loose_pieces(studio: Studio, pieces: Iterable[FinishedPiece]) -> list[FinishedPiece]:
    """Return pieces whose pours are locked as they are now, or refuse those not loose and good."""
    piece_ids = [piece.pk for piece in pieces]
    rows = FinishedPiece.objects.filter(studio=studio, pk__in=piece_ids)
    now = list(rows.select_related("pour__surface", "pour__line__commission").order_by("pk"))
    if not now or len(set(piece_ids)) != len(piece_ids):
        raise SetRefused("Choose at least one finished piece for the set, each once.")
    busy = [piece for piece in now if piece.state != "good" or piece.piece_set_id]
    if busy:
        names = ", ".join(f"{piece}" for piece in busy)
        raise SetRefused(f"Only good pieces that are in no set can be packed, not {names}.")
    if tiles := [piece for piece in now if piece.pour.line and piece.pour.line.is_test]:
        names = ", ".join(f"{piece}" for piece in tiles)
        raise SetRefused(f"A test tile is not packed: leave out {names}.")
    return now


def refuse_unfitting(line: CommissionLine, pieces: Sequence[FinishedPiece]) -> None:
    """Refuse pieces that a commission's line is not made of, or of which it has all."""
    if line.is_test:
        raise SetRefused(f"“{line}” is not packed: it is for the customer to look at.")
    if len(pieces) != line.pieces_each:
        raise SetRefused(
            f"One of “{line}” is {line.pieces_each} pieces, and {len(pieces)} were chosen."
        )
    if any(piece.pour.surface_id != line.surface_id for piece in pieces):
        raise SetRefused(f"“{line}” needs pieces of {line.surface.name}.")
    if PieceSet.objects.packed().filter(line=line).count() >= line.quantity:
        raise SetRefused(f"All {line.quantity} of “{line}” are packed already.")
    pours = {piece.pour_id for piece in pieces}
    coats = Topcoating.objects.standing().filter(pour__in=pours)
    if line.topcoat_id and coats.values("pour").distinct().count() < len(pours):
        raise SetRefused(f"“{line}” has a resin topcoat, and not every piece chosen has had one.")


def use_of(pieces: Iterable[FinishedPiece], line: CommissionLine | None) -> str:
    """Return what pieces are for by the line they are packed for, else by those they were poured
    for, where these agree."""
    if line is not None:
        return line.use
    uses = {piece.pour.line.use if piece.pour.line else "" for piece in pieces}
    return uses.pop() if len(uses) == 1 else ""


def poured_for(pieces: Iterable[FinishedPiece]) -> set[Commission]:
    """Return the commissions that pieces were poured for."""
    return {piece.pour.line.commission for piece in pieces if piece.pour.line}
