"""Where pours stand: wet, touch-dry, dry, cured, safe; the one home of every such day."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import prefetch_related_objects

from inventory.mixing.mix_book import MixBook, mix_book
from inventory.mixing.proportions.mediums import Medium
from inventory.mixing.questions import medium_of_recipe
from inventory.models import Recipe
from inventory.stock.shelf import local_day
from pricing.estimating.judgement import film_left_mm, stays_ml, strictest
from pricing.estimating.learning import Hand, hand_of
from pricing.models import PaletteColour, Pour, Topcoating, Weighing
from pricing.readiness.clock import (
    SLOW_C,
    PaintDays,
    constant_since,
    paint_days,
    resin_days,
    still_loses,
    weight_limit,
)
from studio.units import degrees

TOO_COLD = "in a room as cold as {room} nobody knows how long paint dries"
RESIN_TOO_COLD = "in a room as cold as {room} resin does not cure"
NOT_READ = (
    "how long {kit} cures is not written down; read it off the label, and write it on its page"
)


@dataclass(frozen=True)
class Standing:
    """The days from which the pieces of a pour are at each stage.

    Where the paint or the resin is not known (``paint_not_known``, ``resin_not_known``: why, in
    words), the days are the cautious ones that are planned by, and no promise. ``film_mm`` is the
    wet film on the face, [mm]; ``is_guess`` tells that the run-off in it is one. Where a piece was
    weighed, ``weighed_dry_on`` is the day from which its weight says that it is dry, and
    ``still_loses`` tells that it was lighter the last time than before. ``rate_is_guess`` tells
    that it dries in a room so cold that how much slower is our guess.
    """

    poured_on: date
    film_mm: float
    is_guess: bool
    room_noted: bool
    days: PaintDays
    paint_not_known: str = ""
    coated_on: date | None = None
    handle_on: date | None = None
    resin_cured_on: date | None = None
    resin_not_known: str = ""
    weighed_dry_on: date | None = None
    still_loses: bool = False
    rate_is_guess: bool = False

    @property
    def touch_dry_on(self) -> date:
        """When it can be moved and judged; what is dry by its weight is touch-dry too."""
        by_film = self.poured_on + timedelta(days=self.days.touch_dry)
        return min(by_film, self.weighed_dry_on or by_film)

    @property
    def dry_on(self) -> date:
        """When resin may go over it: by its weight where that is known, else by its film."""
        return self.weighed_dry_on or self.poured_on + timedelta(days=self.days.dry)

    @property
    def varnish_on(self) -> date:
        """When varnish may go over it."""
        return self.poured_on + timedelta(days=self.days.varnish)

    @property
    def cured_on(self) -> date:
        """When its paint has its final strength."""
        return self.poured_on + timedelta(days=self.days.cured)

    @property
    def planned_on(self) -> date:
        """When it can be packed, sold and used, as it is planned: cured, resin or else paint."""
        return self.resin_cured_on or self.cured_on

    @property
    def not_known(self) -> str:
        """Why nobody knows when it is safe; empty where somebody does."""
        return self.resin_not_known if self.coated_on else self.paint_not_known

    @property
    def safe_from(self) -> date | None:
        """The day it can be packed, sold and used, or None where that is not known."""
        return None if self.not_known else self.planned_on

    def stages(self) -> list[tuple[str, date, bool]]:
        """Return (what it is, from which day on, whether that is known), in order of the days."""
        known = not self.paint_not_known
        found = [("Wet", self.poured_on, True), ("Touch-dry", self.touch_dry_on, known)]
        if self.coated_on is None or self.resin_cured_on is None or self.handle_on is None:
            return [
                *found,
                ("Dry, for resin", self.dry_on, known or self.weighed_dry_on is not None),
                ("Cured, safe to pack and use", self.cured_on, known),
            ]
        hard = not self.resin_not_known
        return [
            *found,
            ("Coated", self.coated_on, True),
            ("Hard enough to handle", self.handle_on, hard),
            ("Cured, safe to pack and use", self.resin_cured_on, hard),
        ]


def standing_of(pours: Iterable[Pour], hand: Hand | None = None) -> dict[Pour, Standing]:
    """Return {pour: `Standing`} of pours of one studio, in a fixed number of queries."""
    pours = list(pours)
    if not pours:
        return {}
    studio = pours[0].studio
    prefetch_related_objects(pours, "layers", "palette__base", "studio")
    coats: dict[int, list[Topcoating]] = {}
    standing = Topcoating.objects.standing().filter(pour__in=pours)
    for coat in standing.select_related("kit").order_by("coated_at", "pk"):
        coats.setdefault(coat.pour_id, []).append(coat)
    weighed: dict[int, list[Weighing]] = {}
    for one in studio.weighings.filter(piece__pour__in=pours).select_related("piece"):
        weighed.setdefault(one.piece.pour_id, []).append(one)
    hand = hand or hand_of(studio)
    mediums = _mediums(mix_book(studio), pours)
    return {
        pour: _standing(
            *(pour, hand, mediums[pour.palette_id]),
            coats=coats.get(pour.pk, []),
            weighed=weighed.get(pour.pk, []),
        )
        for pour in pours
    }


def _mediums(book: MixBook, pours: Iterable[Pour]) -> dict[int, Medium]:
    """Return {palette key: the medium that decides} of the palettes that pours are of."""
    recipes: dict[int, list[Recipe]] = {pour.palette_id: [pour.palette.base] for pour in pours}
    colours = PaletteColour.objects.filter(palette__in=recipes).select_related("recipe")
    for colour in colours:
        recipes[colour.palette_id].append(colour.recipe)
    return {
        key: strictest(medium_of_recipe(book, recipe) for recipe in several)
        for key, several in recipes.items()
    }


def _standing(
    pour: Pour,
    hand: Hand,
    medium: Medium,
    *,
    coats: Collection[Topcoating],
    weighed: Collection[Weighing],
) -> Standing:
    film_mm = film_left_mm(pour, hand)
    known = paint_days(film_mm, medium, pour.room_c)
    planned = known or paint_days(film_mm, medium)
    assert planned is not None  # of a room that was not noted something is always planned
    stands = Standing(
        poured_on=local_day(pour.studio, pour.poured_at),
        film_mm=film_mm,
        is_guess=hand.run_off(pour.technique.slug).is_guess,
        room_noted=pour.room_c is not None,
        days=planned,
        paint_not_known="" if known else TOO_COLD.format(room=degrees(pour.room_c or 0)),
        rate_is_guess=pour.room_c is not None and float(pour.room_c) < SLOW_C,
    )
    if weighed:
        stands = _weighed(stands, pour, hand, [one for one in weighed if _is_bare(one, coats)])
    return _coated(stands, pour, coats) if coats else stands


def _is_bare(weighing: Weighing, coats: Iterable[Topcoating]) -> bool:
    """Whether a piece was weighed before there was resin on it, which weighs as well."""
    return all(weighing.weighed_at < coat.coated_at for coat in coats)


def _weighed(stands: Standing, pour: Pour, hand: Hand, weighed: Iterable[Weighing]) -> Standing:
    """Return where a pour stands by the weight of its pieces: none may still grow lighter."""
    limit = weight_limit(stays_ml(pour, hand))
    readings: dict[int, list[tuple[datetime, Decimal]]] = {}
    for one in sorted(weighed, key=lambda row: row.weighed_at):
        readings.setdefault(one.piece_id, []).append((one.weighed_at, one.grams))
    loses = any(still_loses(one, limit) for one in readings.values())
    since = [moment for one in readings.values() if (moment := constant_since(one, limit))]
    dry_on = local_day(pour.studio, min(since)) if since and not loses else None
    return replace(stands, weighed_dry_on=dry_on, still_loses=loses)


def _coated(stands: Standing, pour: Pour, coats: Collection[Topcoating]) -> Standing:
    """Return where a pour stands under its topcoats, of all together the latest days."""
    days = {coat: local_day(pour.studio, coat.coated_at) for coat in coats}
    why = [words for coat in coats if (words := _why_not_known(coat))]
    return replace(
        stands,
        coated_on=max(days.values()),
        handle_on=max(day + _after(coat, "handle_hours") for coat, day in days.items()),
        resin_cured_on=max(day + _after(coat, "cure_hours") for coat, day in days.items()),
        resin_not_known=why[0] if why else "",
    )


def _after(coat: Topcoating, name: str) -> timedelta:
    """Return the days after a topcoat, by its label or else by the cautious figure."""
    hours = coat.kit.taken(name)
    days = resin_days(hours, coat.room_c, coat.kit.taken("room_from_c"))
    return timedelta(days=resin_days(hours) or 0 if days is None else days)


def _why_not_known(coat: Topcoating) -> str:
    if coat.kit.cure_hours is None:
        return NOT_READ.format(kit=coat.kit)
    if resin_days(coat.kit.cure_hours, coat.room_c, coat.kit.taken("room_from_c")) is None:
        return RESIN_TOO_COLD.format(room=degrees(coat.room_c or 0))
    return ""
