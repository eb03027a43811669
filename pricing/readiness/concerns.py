"""What speaks against an act: composed here, one function an act, each called in one place."""

from collections.abc import Iterable
from datetime import date, datetime

from inventory.stock.shelf import local_day
from pricing.models import Commission, FinishedPiece, PieceSet, Pour, Topcoating
from pricing.readiness.asking import Concern
from pricing.readiness.rooms import Room, judge_room
from pricing.readiness.standing import Standing, standing_of
from studio.dates import in_full as day


def before_coating(coat: Topcoating) -> list[Concern]:
    """Return what speaks against a topcoat that is not written down yet."""
    room = judge_room(Room(coat.room_c, coat.humidity_percent), coat.kit)
    spoils = [Concern(one.code, one.sentence) for one in room if one.severity == "stop"]
    return [*_not_dry(coat.pour, coat.coated_at), *spoils]


def _not_dry(pour: Pour, at: datetime) -> list[Concern]:
    (standing,) = standing_of([pour]).values()
    if local_day(pour.studio, at) >= standing.coat_from:
        return []
    return [
        Concern(
            "not_dry",
            f"{pour} is dry enough for resin from {day(standing.coat_from)} on: a wet film of "
            f"{standing.film_mm:.1f} mm is best left {standing.days_to_coat} days, or moisture "
            "stays under the resin.",
        )
    ]


def before_packing(pieces: Iterable[FinishedPiece], on: date) -> list[Concern]:
    """Return what speaks against packing pieces on a day."""
    return _not_cured({piece.pour_id for piece in pieces}, on)


def before_selling(sets: Iterable[PieceSet], on: date) -> list[Concern]:
    """Return what speaks against giving sets to whoever bought them, on a day."""
    return _not_cured(_pours_of(sets), on)


def before_handing_over(commission: Commission, on: date) -> list[Concern]:
    """Return what speaks against handing over what was made for a commission and is not sold."""
    packed = PieceSet.objects.for_sale().filter(line__commission=commission)
    loose = FinishedPiece.objects.filter(
        pour__line__commission=commission, piece_set=None, state=FinishedPiece.State.GOOD
    )
    return _not_cured({*_pours_of(packed), *loose.values_list("pour", flat=True)}, on)


def before_consigning(sets: Iterable[PieceSet], on: date) -> list[Concern]:
    """Return what speaks against sending sets to a shop on a day."""
    return _not_cured(_pours_of(sets), on)


def _pours_of(sets: Iterable[PieceSet]) -> set[int]:
    pieces = FinishedPiece.objects.filter(piece_set__in=[one.pk for one in sets])
    return set(pieces.order_by().values_list("pour", flat=True))


def _not_cured(pours: Iterable[int], on: date) -> list[Concern]:
    rows = Pour.objects.filter(pk__in=list(pours)).order_by("number")
    standings = standing_of(rows.select_related("surface", "technique", "studio"))
    return [one for pour, standing in standings.items() for one in _of(pour, standing, on)]


def _of(pour: Pour, standing: Standing, on: date) -> list[Concern]:
    if standing.safe_from is None:
        kits = ", ".join(standing.unknown_kits)
        return [
            Concern(
                "cure_not_known",
                f"Nobody knows when {pour} is cured: how long {kits} cures is not written down. "
                "Read it off the label and write it on the page of the kit.",
            )
        ]
    if on >= standing.safe_from:
        return []
    what = "the resin on it" if standing.is_coated else "its paint"
    return [
        Concern(
            "not_cured",
            f"{pour} is cured from {day(standing.safe_from)} on; before that {what} is still soft.",
        )
    ]
