"""The studio's resin kits, in the terms of the resin arithmetic."""

from dataclasses import dataclass
from decimal import Decimal

from inventory.mixing.mix_book import in_own_unit
from inventory.mixing.proportions import MixingError
from inventory.models import Material
from pricing.estimating import mixing, resin
from pricing.estimating.advice import Advice
from pricing.estimating.enough import to_ml
from pricing.estimating.kits import refuse_without_ratio, topcoat_problem
from pricing.estimating.layers import LayerEstimate, Need
from pricing.estimating.sessions import to_mix
from pricing.estimating.surfaces import Surface
from pricing.models import ResinKit
from pricing.models.topcoat import FIGURES
from studio.cautions import CAUTIONS, FIRST
from studio.errors import in_words
from studio.models import Studio
from studio.money import ZERO
from studio.units import kitchen_measure

# Makers of resin publish a loss of 15 to 20 % in cups and drips, and a costing of theirs takes
# 10 %: the range runs from two thirds to four thirds of the usual 15 %.
USUAL_WASTE = Decimal("0.15")
LOW, HIGH = Decimal(2) / 3, Decimal(4) / 3


@dataclass(frozen=True)
class Topcoat:
    """A resin film over each piece: which kit, and how thick, [mm]."""

    kit: ResinKit
    film_mm: Decimal


@dataclass(frozen=True)
class KitOnHand:
    """What is on the shelf of a kit's two parts: what they give, or the problem with it, in words.

    ``warned`` is what measuring it the other way, by weight or by volume, would do.
    """

    kit: ResinKit
    left: resin.Mixable | None
    warned: Advice | None
    problem: str = ""

    @property
    def hardener_off(self) -> Decimal | None:
        """By which share the hardener is off if the ratio is measured the other way, [-]."""
        return resin.hardener_off(plain_kit(self.kit)) if self.kit.has_ratio else None

    @property
    def cautions(self) -> list[str]:
        """What to mind, the maker's data sheet first."""
        return [FIRST, *CAUTIONS["resin"].sentences]

    @property
    def short(self) -> Material | None:
        """The part that runs out first."""
        parts = {"A": self.kit.resin, "B": self.kit.hardener}
        return parts.get(self.left.short) if self.left else None

    @property
    def over(self) -> Material | None:
        """The part of which some stays over."""
        return (
            {self.kit.resin: self.kit.hardener}.get(self.short, self.kit.resin)
            if self.short
            else None
        )


def kit_on_hand(kit: ResinKit) -> KitOnHand:
    """Return how much of a kit can be mixed from what is on hand, and which part is short."""
    if problem := topcoat_problem(kit):
        return KitOnHand(kit, None, None, problem)
    plain = plain_kit(kit)
    warned = resin.other_measure(plain)
    try:
        amounts = [_on_hand_ml(part) for part in (kit.resin, kit.hardener)]
        return KitOnHand(kit, resin.mixable(plain, *amounts), warned)
    except (resin.ResinError, MixingError) as error:
        return KitOnHand(kit, None, warned, str(error))


def _on_hand_ml(part: Material) -> Decimal:
    if part.unit != part.Unit.G:
        return part.on_hand
    if part.density_g_per_ml is None:
        raise resin.ResinError(f"Enter the density of {part}: it is counted in grams.")
    return part.on_hand / part.density_g_per_ml


def plain_kit(kit: ResinKit) -> resin.Kit:
    """Return a kit of the studio as the arithmetic takes it.

    Raises `RatioNotRead` while its ratio is empty; for other figures that are, cautious ones are
    taken, and marked as such.
    """
    refuse_without_ratio(kit)
    assert kit.ratio_a is not None and kit.ratio_b is not None  # it has a ratio
    given = {name: value for name in FIGURES if (value := getattr(kit, name)) is not None}
    with in_words(resin.ResinError, MixingError):
        return resin.Kit(
            name=kit.name,
            ratio_a=kit.ratio_a,
            ratio_b=kit.ratio_b,
            basis="weight" if kit.basis == kit.Basis.WEIGHT else "volume",
            density_a=kit.resin.density_g_per_ml,
            density_b=kit.hardener.density_g_per_ml,
            waste=kit.waste,
            heat_limit_c=kit.heat_limit_c,
            unchecked=kit.unchecked,
            **given,
        )


def kit_materials(kit: ResinKit, mixed_ml: Decimal) -> dict[Material, Decimal]:
    """Return {material: quantity} of parts A and B in a volume of mixed resin."""
    plain = plain_kit(kit)
    with in_words(resin.ResinError, MixingError):
        kit_parts = resin.parts(
            Decimal(mixed_ml),
            plain.ratio_a,
            plain.ratio_b,
            plain.basis,
            plain.density_a,
            plain.density_b,
        )
    needs = {kit.resin: in_own_unit(kit.resin, kit_parts.a_ml)}
    hardener = in_own_unit(kit.hardener, kit_parts.b_ml)
    needs[kit.hardener] = needs.get(kit.hardener, Decimal(0)) + hardener
    return needs


def topcoat_layer(
    studio: Studio, surface: Surface, count: int, topcoat: Topcoat
) -> tuple[LayerEstimate, tuple[Advice, ...]]:
    """Return the resin layer over ``count`` pieces with its materials, and advice on pouring it."""
    kit = topcoat.kit
    plan = _plan(studio, surface, count, topcoat)
    low, median, high = _range(plan.on_pieces_ml, kit.waste)
    to_mix_ml = _to_mix(plan, median)
    mixed, cautious = (kit_materials(kit, volume) for volume in (to_mix_ml, max(to_mix_ml, high)))
    materials = {key: Need(mixed[key], cautious[key], mixed[key]) for key in mixed}
    measures = studio.measures
    layer = LayerEstimate(
        layer="topcoat",
        low_ml=low,
        median_ml=median,
        high_ml=high,
        measure=kitchen_measure(median, measures),
        mix_measure=kitchen_measure(to_mix_ml, measures),
        spent=_all_used(to_mix_ml, median),
        materials=materials,
        plan=plan,
    )
    return layer, plan.advice


def coat_to_mix(studio: Studio, surface: Surface, count: int, topcoat: Topcoat) -> Decimal:
    """Return how much resin is mixed for the topcoat of ``count`` pieces, [mL]."""
    plan = _plan(studio, surface, count, topcoat)
    return _to_mix(plan, _range(plan.on_pieces_ml, topcoat.kit.waste)[1])


def _to_mix(plan: resin.ResinPlan, median: Decimal) -> Decimal:
    return to_ml(max(plan.total.ml, median))


def _plan(studio: Studio, surface: Surface, count: int, topcoat: Topcoat) -> resin.ResinPlan:
    with in_words(resin.ResinError, MixingError):
        return resin.plan(
            plain_kit(topcoat.kit),
            area_mm2=_face(surface),
            film_mm=topcoat.film_mm,
            count=count,
            room_c=studio.room_temperature_c,
        )


def film_layer(surface: Surface, count: int, film_mm: Decimal, measures: str) -> LayerEstimate:
    """Return the resin layer of a film without any kit, with the loss makers usually publish."""
    with in_words(resin.ResinError, MixingError):
        coat = resin.flood_coat(_face(surface), film_mm)
    low, median, high = _range(coat.face_ml * count, USUAL_WASTE)
    to_mix_ml, mix_measure = to_mix(median, measures)
    return LayerEstimate(
        layer="topcoat",
        low_ml=low,
        median_ml=median,
        high_ml=high,
        measure=kitchen_measure(median, measures),
        mix_measure=mix_measure,
        spent=_all_used(to_mix_ml, median),
    )


def _range(on_pieces_ml: Decimal, waste: Decimal) -> tuple[Decimal, Decimal, Decimal]:
    """Return low, median and high of what is mixed: the film is chosen, what is lost varies."""
    low, median, high = (to_ml(on_pieces_ml * (1 + waste * times)) for times in (LOW, 1, HIGH))
    return low, median, high


def _all_used(mixed_ml: Decimal, poured_ml: Decimal) -> mixing.Spent:
    """Mixed resin sets: none of it is kept."""
    return mixing.Spent(mixed_ml, mixed_ml, poured_ml, ZERO)


def _face(surface: Surface) -> float:
    """The flat face that resin stays on, without a bevel, [mm^2]."""
    return surface.flat_area_mm2
