"""What is to be said of a set or a piece by whoever takes care of it, from what it is made of."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet
from django.urls import reverse

from inventory.stock.shelf import local_day
from pricing.errors import CardRefused
from pricing.models import FinishedPiece, PieceSet, Pour
from pricing.readiness.fitting import Coats, coats_of, finish_of
from pricing.readiness.standing import standing_of
from pricing.selling.care_words import CareWords, care_words
from studio.models import Studio

GOOD = FinishedPiece.State.GOOD
MOST_NAMES = 3


@dataclass(frozen=True)
class Care:
    """A card or tag: what it is, in a title and a line, what to know, and its code.

    ``code`` is what the studio knows it by, and ``path`` opens it there.
    """

    title: str
    made: str
    words: CareWords
    code: str
    path: str


def care_of_sets(studio: Studio, sets: Iterable[PieceSet]) -> list[Care]:
    """Return the care of sets, one each, in a fixed number of queries.

    Raises `CardRefused` for one that was taken apart.
    """
    sets = list(sets)
    for one in sets:
        if one.unpacked_at is not None:
            raise CardRefused(f"{one} was taken apart. Print cards for its pieces instead.")
    rows = _with_pours(FinishedPiece.objects.filter(studio=studio, piece_set__in=sets))
    pieces: dict[int | None, list[FinishedPiece]] = {}
    for piece in rows:
        pieces.setdefault(piece.piece_set_id, []).append(piece)
    words = _words_of([(one.use, pieces.get(one.pk, [])) for one in sets], studio)
    return [
        Care(one.name, _made(pieces.get(one.pk, [])), said, f"S{one.number}", set_path(one))
        for one, said in zip(sets, words, strict=True)
    ]


def care_of_pieces(studio: Studio, pieces: QuerySet[FinishedPiece]) -> list[Care]:
    """Return the care of pieces, one each, in a fixed number of queries; of good ones only."""
    good = list(_with_pours(pieces.filter(studio=studio, state=GOOD)))
    words = _words_of([(_use(piece), [piece]) for piece in good], studio)
    return [
        Care(
            piece.pour.surface.name,
            _made([piece]),
            said,
            f"P{piece.pour.number}-{piece.number}",
            pour_path(piece.pour),
        )
        for piece, said in zip(good, words, strict=True)
    ]


def set_path(one: PieceSet) -> str:
    """Return the short address that the code of a set opens."""
    return reverse("set-scan", args=[one.studio_id, one.number])


def pour_path(pour: Pour) -> str:
    """Return the short address that the code of a piece opens."""
    return reverse("pour-scan", args=[pour.studio_id, pour.number])


def _with_pours(rows: QuerySet[FinishedPiece]) -> QuerySet[FinishedPiece]:
    chosen = ("pour__surface", "pour__technique", "pour__palette", "pour__studio")
    and_for = ("pour__line", "piece_set")
    return (
        rows.select_related(*chosen, *and_for)
        .prefetch_related("pour__layers")
        .order_by("pour__number", "number")
    )


def _use(piece: FinishedPiece) -> str:
    """Return what a piece is for: as its set says, else as the line that it was poured for."""
    if piece.piece_set:
        return piece.piece_set.use
    return piece.pour.line.use if piece.pour.line else ""


def _words_of(
    groups: Iterable[tuple[str, Collection[FinishedPiece]]], studio: Studio
) -> list[CareWords]:
    """Return the words of pieces that are kept together, each group with what it is for."""
    groups = list(groups)
    pours = {piece.pour for _, group in groups for piece in group}
    coats = coats_of({pour.pk for pour in pours})
    days = {pour.pk: one.safe_from for pour, one in standing_of(pours).items()}
    return [_words(use, {piece.pour_id for piece in group}, coats, days) for use, group in groups]


def _words(
    use: str, pours: Collection[int], coats: Coats, days: dict[int, date | None]
) -> CareWords:
    known = [days[pk] for pk in pours]
    all_known = [day for day in known if day is not None]
    safe_from = max(all_known) if known and len(all_known) == len(known) else None
    return care_words(use, finish_of(pours, coats), safe_from)


def _made(pieces: Collection[FinishedPiece]) -> str:
    """Return what pieces are, in a line: how many, how poured, in which colours, when."""
    if not pieces:
        return ""
    names = dict.fromkeys(
        f"{piece.pour.poured_as.lower()} in {piece.pour.palette.name}" for piece in pieces
    )
    told = "; ".join(list(names)[:MOST_NAMES])
    day = max(local_day(piece.pour.studio, piece.pour.poured_at) for piece in pieces)
    count = f"{len(pieces)} pieces, " if len(pieces) > 1 else ""
    return f"{count}{told}, poured by hand in {day:%B %Y}"
