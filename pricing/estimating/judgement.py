"""What a practitioner would say of an estimate, each with the number and the limit behind it."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from django.db.models import Q

from inventory.mixing.mix_book import mix_book
from inventory.mixing.proportions.mediums import CRAZING_FILM_MM, Medium
from inventory.mixing.questions import medium_in, medium_of_recipe
from inventory.models import Material
from pricing.estimating import advice, coverage
from pricing.estimating.enough import MixingRules, NeededPaint, mixing_rules, needed_paint
from pricing.estimating.layers import LayerEstimate, line_of
from pricing.estimating.learning import Hand
from pricing.estimating.sessions import to_mix
from pricing.estimating.sizes import geometry
from pricing.estimating.surfaces import Surface
from pricing.models import Palette, Pour, SavedSurface
from pricing.techniques import facts_of
from studio.errors import in_words

# What is shown is rounded to so much, [mL].
SHOWN = 0.01


def judge(
    hand: Hand,
    surface: Surface,
    technique: str,
    layers: Sequence[LayerEstimate],
    count: int,
    *,
    under_resin: bool = False,
) -> tuple[advice.Advice, ...]:
    """Return the advice on the paint of ``count`` equal pieces, past its limit or not.

    ``hand`` is what the estimate rests on (`learning.Hand`). The amounts themselves are the
    program's own advice: what was really poured is judged, by `judge_pour`.
    """
    total_ml = sum(float(layer.median_ml) for layer in layers) / count
    medium = medium_of_layers(layers)
    face, sides = surface.top_area_mm2, surface.side_area_mm2
    findings = [advice.let_run_off(total_ml, face, sides, medium)]
    if medium == "ordinary":
        stays = total_ml * hand.run_off(technique).on_piece
        film = advice.crazing(stays, face, sides, medium, as_advised=True)
        findings.append(_by_run_off(film, hand, technique))
    outside = next((layer.layer for layer in layers if layer.outside_measured), None)
    if outside:
        known = hand.estimator.measured_range(technique, outside)
        findings.append(advice.outside_measured(surface.radius_mm, *known))
    if under_resin:
        silicone = {
            material.name
            for layer in layers
            for material in layer.materials
            if material.has_silicone
        }
        findings.append(advice.silicone_under_topcoat(sorted(silicone)))
    return tuple(findings)


def judge_pour(pour: Pour, hand: Hand) -> tuple[advice.Advice, ...]:
    """Return the advice on what was poured on a piece of a pour: enough, too thick, too thin.

    ``hand`` says how much of it stays on the piece where that was not scraped back and measured,
    and what the program itself advises for such a piece.
    """
    layers = {one.layer: float(one.poured_ml) / pour.count for one in pour.layers.all()}
    if not {"base", "colours"} <= layers.keys():
        return ()
    surface, slug = geometry(pour.surface), pour.technique.slug
    line = line_of(surface, slug, pour.count, pour.base)
    rules = mixing_rules(pour.studio, hand, slug)
    needed = needed_paint(hand.estimator, line, rules)
    medium = medium_of_palette(pour.palette, layers)
    findings = judge_amounts(layers, surface, needed, rules, stays_ml(pour, hand), medium)
    return tuple(_by_run_off(one, hand, slug) if one.code == "crazing" else one for one in findings)


def judge_amounts(
    poured: Mapping[str, float],
    surface: Surface,
    needed: NeededPaint,
    rules: MixingRules,
    on_piece_ml: float,
    medium: Medium = "pouring",
) -> tuple[advice.Advice, ...]:
    """Return the advice on what was poured on a piece, {layer: mL}; base and colours are among it.

    ``needed`` is what the program itself advises for so many pieces. Between what it expects and
    what it says to mix nothing is too little or too much; what is beyond that is judged by the film
    that stays on the face, and by the ``medium`` in the paint. A film of what was advised that an
    ordinary medium may not bear is worth a note, with what to do about it.
    """
    median, most = advised_ml(needed, poured, rules)
    total = sum(poured.values())
    face, sides = surface.top_area_mm2, surface.side_area_mm2
    findings = []
    if sum(median.values()) <= total <= sum(most.values()):
        findings.append(advice.as_advised(total, sum(median.values()), sum(most.values())))
        if medium == "ordinary":
            findings.append(advice.crazing(on_piece_ml, face, sides, medium, as_advised=True))
    else:
        findings.append(
            advice.crazing(on_piece_ml, face, sides, medium)
            if total > sum(most.values())
            else advice.short_of_sides(total, surface.wetted_area_mm2)
        )
    findings.append(advice.let_run_off(total, face, sides, medium))
    is_less = poured["colours"] < median["colours"] or poured["base"] > most["base"]
    if facts_of(needed.total.technique).pillow and is_less:
        findings.append(advice.thin_colours(poured["colours"], poured["base"]))
    return tuple(findings)


def medium_of_layers(layers: Sequence[LayerEstimate]) -> Medium:
    """Return the medium that decides how thick a film of base coat and colours may dry.

    Of mixes that differ the strictest counts. What no palette was chosen for is not known, and is
    judged as poured with a pouring medium.
    """
    found = [
        medium_in({key: _ml(key, need.to_mix) for key, need in one.materials.items()})
        for one in layers
        if one.layer in ("base", "colours") and one.materials
    ]
    return strictest(found)


def medium_of_palette(palette: Palette, layers: Collection[str]) -> Medium:
    """Return the same of a palette's recipes, for the layers that were poured."""
    book = mix_book(palette.studio)
    base = [palette.base] if "base" in layers else []
    colours = [one.recipe for one in palette.colours.select_related("recipe")]
    return strictest(medium_of_recipe(book, recipe) for recipe in (*base, *colours))


def strictest(mediums: Iterable[Medium]) -> Medium:
    """Return the medium of the thinnest film among some, that of pouring mediums among none."""
    return min(mediums, key=CRAZING_FILM_MM.__getitem__, default="pouring")


def _ml(material: Material, quantity: Decimal) -> Decimal:
    grams = material.unit == Material.Unit.G and material.density_g_per_ml
    return quantity / grams if grams else quantity


def advised_ml(
    needed: NeededPaint, layers: Collection[str], rules: MixingRules
) -> tuple[dict[str, float], dict[str, float]]:
    """Return what some layers are expected to take of a piece, and what is to be mixed, [mL].

    Each is a hair wider than it is shown, so that what is read off it lies within.
    """
    count = needed.total.count
    of = [one for one in needed.layers if one.layer in layers]
    mixed = (to_mix(one.needed_ml, rules.measures, one.least_ml)[0] for one in of)
    return (
        {one.layer: (one.forecast.median - SHOWN) / count for one in of},
        {one.layer: (float(ml) + SHOWN) / count for one, ml in zip(of, mixed, strict=True)},
    )


def judge_topcoat(
    pour: Pour, hand: Hand, at: datetime, wait_days: int | None = None
) -> tuple[advice.Advice, ...]:
    """Return the advice on resin over a pour at a time: whether its film has dried long enough,
    and whether silicone went into it.

    The film is what was poured of all layers, less the run-off the studio's hand sheds, on the
    face; ``hand`` is the studio's `pricing.estimating.learning.Hand`, ``wait_days`` how long its
    paint dries in its own room, where that is known.
    """
    film_mm = film_left_mm(pour, hand)
    days = max((at - pour.poured_at).total_seconds() / 86_400, 0.0)
    early = advice.early_topcoat(round(days, 1), film_mm, wait_days=wait_days)
    return (
        _by_run_off(early, hand, pour.technique.slug),
        advice.silicone_under_topcoat(silicone_in(pour)),
    )


def judge_varnish(pour: Pour, hand: Hand, at: datetime) -> tuple[advice.Advice, advice.Advice]:
    """Return the advice on varnish over a pour at a time, as `judge_topcoat` does on resin."""
    film_mm = film_left_mm(pour, hand)
    days = max((at - pour.poured_at).total_seconds() / 86_400, 0.0)
    early = advice.early_topcoat(round(days, 1), film_mm, "varnish")
    return (
        _by_run_off(early, hand, pour.technique.slug),
        advice.silicone_under_topcoat(silicone_in(pour)),
    )


def _by_run_off(one: advice.Advice, hand: Hand, technique: str) -> advice.Advice:
    """Return advice on what stays on a piece, which says so while the run-off is a guess."""
    if not hand.run_off(technique).is_guess:
        return one
    return replace(one, source=f"{one.source}; how much ran off is our guess, no source")


def stays_ml(pour: Pour, hand: Hand) -> float:
    """Return what of a pour stays on each piece, its run-off taken out.

    What was scraped back is measured where any was; the rest is what the studio's hand sheds.
    """
    layers = pour.layers.all()
    poured_ml, kept_ml = (
        sum(float(getattr(layer, name)) for layer in layers) / pour.count
        for name in ("poured_ml", "kept_ml")
    )
    shares = hand.run_off(pour.technique.slug)
    if kept_ml:
        return max(poured_ml * (1 - shares.dripped) - kept_ml, 0.0)
    return poured_ml * shares.on_piece


def film_left_mm(pour: Pour, hand: Hand) -> float:
    """Return the mean wet film that a pour left on the faces of its pieces, [mm]."""
    surface = geometry(pour.surface)
    return advice.face_film_mm(stays_ml(pour, hand), surface.top_area_mm2, surface.side_area_mm2)


def film_expected_mm(surface: SavedSurface, technique: str, hand: Hand, base: str = "") -> float:
    """Return the mean wet film that the face of a size is expected to keep, [mm]."""
    piece = geometry(surface)
    with in_words(coverage.CoverageError):
        poured_ml = hand.estimator.job([line_of(piece, technique, base=base)]).total().median
    stays = poured_ml * hand.run_off(technique).on_piece
    return advice.face_film_mm(stays, piece.top_area_mm2, piece.side_area_mm2)


def judge_base(pour: Pour) -> tuple[advice.Advice, ...]:
    """Return the advice on the mixes and the run-off that went into a pour's base coat."""
    mixes = Q(material__kind=Material.Kind.MIX) & (
        Q(material__recipe=None) | Q(material__recipe=pour.palette.base_id)
    )
    return (advice.silicone_in_base(silicone_in(pour, mixes)),)


def silicone_in(pour: Pour, of: Q | None = None) -> list[str]:
    """Return the names of what a pour took that contains silicone, in one query."""
    movements = pour.entry.movements.filter(of or Q(), quantity__lt=0).select_related(
        "bottle__material"
    )
    bottles = (move.bottle for move in movements if move.bottle.holds_silicone)
    return sorted({str(one) if one.has_silicone else one.material.name for one in bottles})
