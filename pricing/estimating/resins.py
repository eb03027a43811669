"""The studio's resin kits, in the terms of the resin arithmetic."""

from dataclasses import dataclass
from decimal import Decimal

from inventory.mixing.mix_book import in_own_unit
from inventory.mixing.proportions import MixingError
from inventory.models import Material
from pricing.estimating import resin
from pricing.estimating.advice import Advice
from pricing.estimating.layers import LayerEstimate, Need, to_ml
from pricing.estimating.surfaces import Surface
from pricing.models import ResinKit
from studio.errors import in_words
from studio.models import Studio
from studio.units import kitchen_measure, round_up_to_measure

# Makers of resin publish a loss of 15 to 20 % in cups and drips, and a costing of theirs takes
# 10 %: the range runs from two thirds to four thirds of the usual 15 %.
USUAL_WASTE = Decimal("0.15")
LOW, HIGH = Decimal(2) / 3, Decimal(4) / 3


@dataclass(frozen=True)
class Topcoat:
    """A resin film over each piece: which kit, and how thick, [mm]."""

    kit: ResinKit
    film_mm: Decimal


def plain_kit(kit: ResinKit) -> resin.Kit:
    """Return a kit of the studio as the arithmetic takes it."""
    with in_words(resin.ResinError, MixingError):
        return resin.Kit(
            name=kit.name,
            ratio_a=kit.ratio_a,
            ratio_b=kit.ratio_b,
            basis="weight" if kit.basis == kit.Basis.WEIGHT else "volume",
            density_a=kit.resin.density_g_per_ml,
            density_b=kit.hardener.density_g_per_ml,
            waste=kit.waste,
            maximum_film_mm=kit.maximum_film_mm,
            pot_life_minutes=kit.pot_life_minutes,
            pot_life_c=kit.pot_life_c,
            pot_life_mass_g=kit.pot_life_mass_g,
            recoat_from_hours=kit.recoat_from_hours,
            recoat_to_hours=kit.recoat_to_hours,
            handle_hours=kit.handle_hours,
            cure_hours=kit.cure_hours,
            heat_limit_c=kit.heat_limit_c,
        )


def kit_materials(kit: ResinKit, mixed_ml: Decimal) -> dict[Material, Decimal]:
    """Return {material: quantity} of parts A and B in a volume of mixed resin."""
    plain = plain_kit(kit)
    with in_words(resin.ResinError, MixingError):
        made = resin.parts(
            Decimal(mixed_ml),
            plain.ratio_a,
            plain.ratio_b,
            plain.basis,
            plain.density_a,
            plain.density_b,
        )
    needs = {kit.resin: in_own_unit(kit.resin, made.a_ml)}
    hardener = in_own_unit(kit.hardener, made.b_ml)
    needs[kit.hardener] = needs.get(kit.hardener, Decimal(0)) + hardener
    return needs


def topcoat_layer(
    studio: Studio, surface: Surface, count: int, topcoat: Topcoat
) -> tuple[LayerEstimate, tuple[Advice, ...]]:
    """Return the resin layer over ``count`` pieces with its materials, and advice on pouring it."""
    kit = topcoat.kit
    with in_words(resin.ResinError, MixingError):
        plan = resin.plan(
            plain_kit(kit),
            area_mm2=_face(surface),
            film_mm=topcoat.film_mm,
            count=count,
            room_c=studio.room_temperature_c,
        )
    low, median, high = _range(plan.on_pieces_ml, kit.waste)
    to_mix_ml = to_ml(max(plan.total.ml, median))
    cases = [kit_materials(kit, volume) for volume in (median, high, to_mix_ml)]
    materials = {material: Need(*(case[material] for case in cases)) for material in cases[0]}
    measures = studio.measures
    layer = LayerEstimate(
        layer="topcoat",
        low_ml=low,
        median_ml=median,
        high_ml=high,
        measure=kitchen_measure(median, measures),
        to_mix_ml=to_mix_ml,
        mix_measure=kitchen_measure(to_mix_ml, measures),
        materials=materials,
        plan=plan,
    )
    return layer, plan.advice


def film_layer(surface: Surface, count: int, film_mm: Decimal, measures: str) -> LayerEstimate:
    """Return the resin layer of a film without any kit, with the loss makers usually publish."""
    with in_words(resin.ResinError, MixingError):
        coat = resin.flood_coat(_face(surface), film_mm)
    low, median, high = _range(coat.face_ml * count, USUAL_WASTE)
    to_mix_ml, mix_measure = round_up_to_measure(median, measures)
    return LayerEstimate(
        layer="topcoat",
        low_ml=low,
        median_ml=median,
        high_ml=high,
        measure=kitchen_measure(median, measures),
        to_mix_ml=to_ml(to_mix_ml),
        mix_measure=mix_measure,
    )


def _range(on_pieces_ml: Decimal, waste: Decimal) -> tuple[Decimal, Decimal, Decimal]:
    """Return low, median and high of what is mixed: the film is chosen, what is lost varies."""
    low, median, high = (to_ml(on_pieces_ml * (1 + waste * times)) for times in (LOW, 1, HIGH))
    return low, median, high


def _face(surface: Surface) -> float:
    """The flat face that resin stays on, without a bevel, [mm^2]."""
    return surface.flat_area_mm2
