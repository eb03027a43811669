"""What speaks against an act: composed here, one function an act, each called in one place."""

from collections.abc import Iterable
from datetime import date, datetime

from inventory.stock.shelf import local_day
from pricing.estimating.fitting import doubts_of
from pricing.models import (
    Commission,
    CommissionLine,
    FinishedPiece,
    PieceSet,
    Pour,
    Product,
    Topcoating,
)
from pricing.readiness.asking import CHANGE, SAY_USE, Concern
from pricing.readiness.fitting import doubts_of_sets
from pricing.readiness.rooms import Room, judge_room
from pricing.readiness.standing import Standing, standing_of
from studio.dates import in_full as day
from studio.units import degrees

# Constant weight is how drying is judged wherever it matters: common practice, no source.
WEIGH = (
    "A better test: weigh a piece and write it down on its pour; the same after 48 hours, within "
    "1 % of its paint, is dry."
)


def before_planning(line: CommissionLine) -> list[Concern]:
    """Return why what a line asks for is not fit for what it is for."""
    return [Concern(doubt.code, doubt.sentence, f"“{line}”", CHANGE) for doubt in doubts_of(line)]


def before_offering(product: Product) -> list[Concern]:
    """Return why a product is not fit for what it is for."""
    return [
        Concern(doubt.code, doubt.sentence, helps=CHANGE) for doubt in doubts_of(product.line())
    ]


def before_quoting(commission: Commission) -> list[Concern]:
    """Return why what a commission's lines ask for is not fit for what it is for, line by line."""
    lines = commission.lines.select_related("surface", "technique", "palette", "topcoat")
    return [one for line in lines for one in before_planning(line)]


def before_coating(coat: Topcoating) -> list[Concern]:
    """Return what speaks against a topcoat that is not written down yet."""
    room = judge_room(Room(coat.room_c, coat.humidity_percent), coat.kit)
    spoils = [Concern(one.code, one.sentence) for one in room if one.severity == "stop"]
    return [*_not_dry(coat.pour, coat.coated_at), *spoils]


def _not_dry(pour: Pour, at: datetime) -> list[Concern]:
    (standing,) = standing_of([pour]).values()
    if standing.still_loses:
        return [
            Concern(
                "still_drying",
                f"{pour} is not dry: a piece of it was lighter when it was weighed last than the "
                "time before. Weigh it again after 48 hours.",
            )
        ]
    if standing.paint_not_known and not standing.weighed_dry_on:
        return [
            Concern("dry_not_known", f"{pour} may not be dry: {standing.paint_not_known}. {WEIGH}")
        ]
    if local_day(pour.studio, at) >= standing.dry_on:
        return []
    return [
        Concern(
            "not_dry",
            f"{pour} is dry enough for resin from {day(standing.dry_on)} on: a wet film of "
            f"{standing.film_mm:.1f} mm is best left {standing.days.dry} days, or moisture stays "
            f"under the resin.{_how_sure(standing)}",
        )
    ]


def _how_sure(standing: Standing) -> str:
    """Say what the days of paint rest on that nobody measured or noted, and the better test."""
    guess = " How much ran off is our guess." if standing.is_guess else ""
    room = "" if standing.room_noted else f" The room was not noted; this is for {degrees(18, 24)}."
    slowed = (
        f" How much a room below {degrees(18)} slows it is our guess."
        if standing.rate_is_guess
        else ""
    )
    return f"{guess}{room}{slowed} {WEIGH}"


def before_packing(piece_set: PieceSet, on: date) -> list[Concern]:
    """Return what speaks against packing a set, whose pieces are in it already, on a day."""
    return _against([piece_set], on)


def before_changing_use(piece_set: PieceSet) -> list[Concern]:
    """Return why a set is not fit for what it is to be for from now on."""
    return _not_fit([piece_set])


def before_selling(sets: Iterable[PieceSet], on: date) -> list[Concern]:
    """Return what speaks against giving sets to whoever bought them, on a day."""
    return _against(sets, on)


def before_handing_over(commission: Commission, on: date) -> list[Concern]:
    """Return what speaks against handing over what was made for a commission and is not sold."""
    packed = PieceSet.objects.for_sale().filter(line__commission=commission)
    loose = FinishedPiece.objects.filter(
        pour__line__commission=commission,
        pour__line__is_test=False,
        piece_set=None,
        state=FinishedPiece.State.GOOD,
    )
    pours = {*_pours_of(packed), *loose.values_list("pour", flat=True)}
    return [*_not_cured(pours, on), *_not_fit(packed)]


def before_consigning(sets: Iterable[PieceSet], on: date) -> list[Concern]:
    """Return what speaks against sending sets to a shop on a day."""
    return _against(sets, on)


def _against(sets: Iterable[PieceSet], on: date) -> list[Concern]:
    sets = list(sets)
    return [*_not_cured(_pours_of(sets), on), *_not_fit(sets)]


def _not_fit(sets: Iterable[PieceSet]) -> list[Concern]:
    """Return why sets are not fit for what they are for, each by its own name."""
    return [
        Concern(doubt.code, doubt.sentence, one.label, SAY_USE)
        for one, doubt in doubts_of_sets(sets)
    ]


def _pours_of(sets: Iterable[PieceSet]) -> set[int]:
    pieces = FinishedPiece.objects.filter(piece_set__in=[one.pk for one in sets])
    return set(pieces.order_by().values_list("pour", flat=True))


def _not_cured(pours: Iterable[int], on: date) -> list[Concern]:
    rows = Pour.objects.filter(pk__in=list(pours)).order_by("number")
    standings = standing_of(rows.select_related("surface", "technique", "studio"))
    return [one for pour, standing in standings.items() for one in _of(pour, standing, on)]


def _of(pour: Pour, standing: Standing, on: date) -> list[Concern]:
    if standing.not_known:
        return [
            Concern("cure_not_known", f"Nobody knows when {pour} is cured: {standing.not_known}.")
        ]
    if on >= standing.planned_on:
        return []
    if standing.coated_on:
        what, sure = "the resin on it", ""
    else:
        what, sure = "its paint", _how_sure(standing)
    return [
        Concern(
            "not_cured",
            f"{pour} is cured from {day(standing.planned_on)} on; before that {what} is still "
            f"soft.{sure}",
        )
    ]
