"""What is to be said of a set or a piece by whoever takes care of it, from what it is made of."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet
from django.urls import reverse

from inventory.stock.shelf import local_day
from pricing.errors import CardRefused
from pricing.models import FinishedPiece, PieceSet, Pour, Topcoating
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
    words = _words_of([pieces.get(one.pk, []) for one in sets], studio)
    return [
        Care(one.name, _made(pieces.get(one.pk, [])), said, f"S{one.number}", set_path(one))
        for one, said in zip(sets, words, strict=True)
    ]


def care_of_pieces(studio: Studio, pieces: QuerySet[FinishedPiece]) -> list[Care]:
    """Return the care of pieces, one each, in a fixed number of queries; of good ones only."""
    good = list(_with_pours(pieces.filter(studio=studio, state=GOOD)))
    words = _words_of([[piece] for piece in good], studio)
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
    return (
        rows.select_related(*chosen)
        .prefetch_related("pour__layers")
        .order_by("pour__number", "number")
    )


def _words_of(groups: Iterable[Collection[FinishedPiece]], studio: Studio) -> list[CareWords]:
    groups = list(groups)
    pours = {piece.pour for group in groups for piece in group}
    coats: dict[int, list[Topcoating]] = {}
    standing = Topcoating.objects.standing().filter(pour__in=pours)
    for coat in standing.select_related("kit").order_by("coated_at", "pk"):
        coats.setdefault(coat.pour_id, []).append(coat)
    days = {pour.pk: one.safe_from for pour, one in standing_of(pours).items()}
    return [_words({piece.pour_id for piece in group}, coats, days) for group in groups]


def _words(
    pours: Collection[int], coats: dict[int, list[Topcoating]], days: dict[int, date | None]
) -> CareWords:
    known = [days[pk] for pk in pours]
    all_known = [day for day in known if day is not None]
    return care_words(
        [coat.kit.heat_limit_c for pk in pours for coat in coats.get(pk, ())],
        has_bare=any(pk not in coats for pk in pours),
        safe_from=max(all_known) if known and len(all_known) == len(known) else None,
    )


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
