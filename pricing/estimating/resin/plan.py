"""A session with resin: pours, cups, parts, times and what to mind."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from math import ceil

from inventory.mixing.proportions.amounts import Number, decimal, exact
from pricing.estimating.advice import Advice, resin_humidity, resin_temperature, warnings
from pricing.estimating.resin.amounts import Parts, flood_coat, parts
from pricing.estimating.resin.checks import (
    density_advice,
    film_in_pours,
    heat_limit,
    mass_in_cups,
    not_yet_checked,
    time_in_the_cup,
)
from pricing.estimating.resin.errors import ResinError
from pricing.estimating.resin.heat import pot_life_minutes
from pricing.estimating.resin.kit import ASSUMED_G_PER_ML, Kit
from pricing.estimating.resin.leftover import other_measure
from pricing.fitness import takes_hot_cups

MEASURABLE_ML = Decimal("0.1")


@dataclass(frozen=True)
class ResinPlan:
    """What one session of topcoating takes.

    Volumes in [mL], rounded up to a tenth; masses in [g]; times in hours from the first pour unless
    said. Each of the `pours` lays `film_mm` and is mixed in `cups` cups of `cup`; `total` is
    everything to have at hand.
    """

    pours: int
    film_mm: Decimal
    cups: int
    cup: Parts
    cup_g: Decimal
    total: Parts
    on_pieces_ml: Decimal
    waste_ml: Decimal
    pot_life_minutes: float
    recoat_from_hours: Decimal  # after each pour but the last
    recoat_to_hours: Decimal
    handle_after_hours: Decimal
    cure_after_hours: Decimal
    heat_limit_c: Decimal | None
    unchecked: frozenset[str]  # figures of the kit that are our guess
    advice: tuple[Advice, ...]
    other_measure: Advice | None = None  # what the ratio does measured the other way

    @property
    def takes_hot_cups(self) -> bool:
        """Whether its maker states that it takes a hot cup."""
        return takes_hot_cups(self.heat_limit_c)

    @property
    def warnings(self) -> tuple[Advice, ...]:
        """What needs doing, the gravest first."""
        return warnings(self.advice)


def plan(
    kit: Kit,
    *,
    area_mm2: Number,
    film_mm: Number,
    count: int = 1,
    room_c: Number | None = None,
    humidity_percent: Number | None = None,
) -> ResinPlan:
    """Return how to coat some equal pieces in one session.

    Parameters
    ----------
    kit : Kit
        The resin, as its label states it, [-]
    area_mm2 : number
        Flat face of one piece, above zero, [mm^2]
    film_mm : number
        Film wanted in the end, above zero, [mm]
    count : int
        Pieces, 1 or more, [pieces]
    room_c : number
        Temperature of the room, the kit's own if not given, [C]
    humidity_percent : number
        Relative humidity, not judged if not given, [%]

    Returns
    -------
    plan : ResinPlan
        Pours, cups, parts, times and advice, [mL, g, h]

    Raises
    ------
    ValueError
        If a number is out of range, or a kit mixed by weight has no densities.

    Examples
    --------
    Four 4 x 4 in coasters under 1/8 in: 131.1 mL on them, and with a fifth lost 157.4 mL in two
    cups.

    >>> kit = Kit("Clear table resin", Decimal(1), Decimal(1), "volume", waste=Decimal("0.2"),
    ...           density_a=Decimal("1.15"), density_b=Decimal("1.00"))
    >>> worked = plan(kit, area_mm2=16 * Decimal("645.16"), film_mm=Decimal("3.175"), count=4)
    >>> worked.pours, worked.cups, worked.total.ml
    (1, 2, Decimal('157.4000'))
    """
    if count < 1:
        raise ResinError(f"Coat one piece or more, not {count}.")
    room = kit.pot_life_c if room_c is None else room_c
    coat = flood_coat(area_mm2, film_mm, kit.waste)
    pours = ceil(exact(film_mm) / exact(kit.maximum_film_mm))
    heavy = kit.g_per_ml or ASSUMED_G_PER_ML
    cups, cup_ml = _cups(coat.mix_ml * count / pours, kit.cup_limit_g / heavy)
    cup = parts(cup_ml, kit.ratio_a, kit.ratio_b, kit.basis, kit.density_a, kit.density_b)
    cup_g = cup_ml * heavy
    life = pot_life_minutes(
        kit.pot_life_minutes,
        quoted_c=kit.pot_life_c,
        room_c=room,
        mass_g=cup_g,
        quoted_mass_g=kit.pot_life_mass_g,
    )
    wait = kit.recoat_from_hours * (pours - 1)
    total, on_pieces_ml = cup.times(cups * pours), coat.face_ml * count
    return ResinPlan(
        pours=pours,
        film_mm=decimal(exact(film_mm) / pours),
        cups=cups,
        cup=cup,
        cup_g=cup_g,
        total=total,
        on_pieces_ml=on_pieces_ml,
        waste_ml=total.ml - on_pieces_ml,
        pot_life_minutes=life,
        recoat_from_hours=kit.recoat_from_hours,
        recoat_to_hours=kit.recoat_to_hours,
        handle_after_hours=wait + kit.handle_hours,
        cure_after_hours=wait + kit.cure_hours,
        heat_limit_c=kit.heat_limit_c,
        unchecked=kit.unchecked,
        advice=(
            *_room_advice(kit, room_c, humidity_percent),
            film_in_pours(kit, film_mm, pours),
            mass_in_cups(kit, cups, cup_g),
            time_in_the_cup(kit, life),
            *not_yet_checked(kit),
            *density_advice(kit),
            heat_limit(kit),
        ),
        other_measure=other_measure(kit),
    )


def _cups(pour_ml: Decimal, limit_ml: Decimal) -> tuple[int, Decimal]:
    """Return how many equal cups a pour takes and what goes into each, to a measurable amount."""
    largest_ml = max(limit_ml.quantize(MEASURABLE_ML, ROUND_FLOOR), MEASURABLE_ML)
    cups = ceil(pour_ml / largest_ml)
    return cups, (pour_ml / cups).quantize(MEASURABLE_ML, ROUND_CEILING)


def _room_advice(
    kit: Kit, room_c: Number | None, humidity_percent: Number | None
) -> Iterator[Advice]:
    if room_c is not None:
        yield resin_temperature(room_c, kit.room_from_c, kit.room_to_c, stated=kit.states_room)
    if humidity_percent is not None:
        yield resin_humidity(humidity_percent)
