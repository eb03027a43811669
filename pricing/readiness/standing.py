"""Where pours stand: from which day on they may be coated, and from which on they are cured."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from django.db.models import prefetch_related_objects

from inventory.stock.shelf import local_day
from pricing.estimating.advice import days_to_dry
from pricing.estimating.judgement import film_left_mm
from pricing.estimating.learning import hand_of
from pricing.models import Pour, Topcoating


@dataclass(frozen=True)
class Standing:
    """Days from which a pour may be touched further, of its wet ``film_mm`` and its topcoats.

    ``safe_from`` is when pieces are cured, resin and paint; None where that is not known, for want
    of a figure of the ``unknown_kits``.
    """

    film_mm: float
    coat_from: date
    days_to_coat: int
    safe_from: date | None
    is_coated: bool
    unknown_kits: tuple[str, ...] = ()


def standing_of(pours: Iterable[Pour]) -> dict[Pour, Standing]:
    """Return {pour: `Standing`} of pours of one studio, in a fixed number of queries."""
    pours = list(pours)
    if not pours:
        return {}
    prefetch_related_objects(pours, "layers")
    coats: dict[int, list[Topcoating]] = {}
    standing = Topcoating.objects.standing().filter(pour__in=pours)
    for coat in standing.select_related("kit").order_by("coated_at", "pk"):
        coats.setdefault(coat.pour_id, []).append(coat)
    hand = hand_of(pours[0].studio)
    return {
        pour: _standing(pour, film_left_mm(pour, hand), coats.get(pour.pk, [])) for pour in pours
    }


def _standing(pour: Pour, film_mm: float, coats: Collection[Topcoating]) -> Standing:
    poured_on = local_day(pour.studio, pour.poured_at)
    days = days_to_dry(film_mm, "resin")
    unknown = tuple(dict.fromkeys(str(one.kit) for one in coats if one.kit.cure_hours is None))
    return Standing(
        film_mm=film_mm,
        coat_from=poured_on + timedelta(days=days),
        days_to_coat=days,
        safe_from=None if unknown else _cured_on(pour, poured_on, film_mm, coats),
        is_coated=bool(coats),
        unknown_kits=unknown,
    )


def _cured_on(pour: Pour, poured_on: date, film_mm: float, coats: Collection[Topcoating]) -> date:
    if not coats:
        return poured_on + timedelta(days=days_to_dry(film_mm, "cure"))
    return max(
        local_day(pour.studio, coat.coated_at) + timedelta(days=ceil(coat.kit.cure_hours / 24))
        for coat in coats
        if coat.kit.cure_hours is not None
    )
