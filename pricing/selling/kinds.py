"""What is in a set, in words, and how a refunded one is booked."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import QuerySet

from pricing.models import FinishedPiece, PieceSet

# Of a set: size, technique, palette, and how many pieces.
Kind = tuple[str, str, str, int]
TAKEN_APART: Kind = ("Taken apart", "Taken apart", "Taken apart", 0)


def described_sets(sets: QuerySet[PieceSet]) -> dict[int, Kind]:
    """Return {set: (size, technique, palette, pieces)} of those packed, in one query.

    Several of one kind are joined by “and”.
    """
    pieces = FinishedPiece.objects.filter(piece_set__in=sets.order_by().values("pk"))
    pieces = pieces.select_related("pour__surface", "pour__technique", "pour__palette")
    by_set: defaultdict[int | None, list[FinishedPiece]] = defaultdict(list)
    for piece in pieces.order_by("pour", "number"):
        by_set[piece.piece_set_id].append(piece)
    return {key: described(its) for key, its in by_set.items() if key}


def described(pieces: Sequence[FinishedPiece]) -> Kind:
    """Return the kind of a set of these pieces, which are loaded with their pours."""
    pours = [piece.pour for piece in pieces]
    columns = (
        [pour.surface.name for pour in pours],
        [pour.technique.name for pour in pours],
        [pour.palette.name for pour in pours],
    )
    size, technique, palette = (" and ".join(dict.fromkeys(names)) for names in columns)
    return size, technique, palette, len(pieces)


def booked(piece_set: PieceSet) -> dict[str, Any]:
    """Return what a set is today as plain data, to stay with the sale that it leaves."""
    rows = piece_set.pieces.select_related("pour__surface", "pour__technique", "pour__palette")
    size, technique, palette, pieces = described(list(rows))
    return {"size": size, "technique": technique, "palette": palette, "pieces": pieces}


def as_booked(data: Mapping[str, Any]) -> Kind:
    """Return the kind that `booked` wrote."""
    return (data["size"], data["technique"], data["palette"], data["pieces"])
