"""What a practitioner would say of an estimate, each with the number and the limit behind it."""

from pricing import advice


def judge(hand, surface, technique, layers, count, *, under_resin=False):
    """Return the advice on the paint of ``count`` equal pieces, past its limit or not.

    ``hand`` is what the estimate rests on (`pricing.learning.Hand`); how much of what is poured
    stays on the piece is taken from it.
    """
    poured = {layer.layer: float(layer.median_ml) / count for layer in layers}
    total, wetted_mm2 = sum(poured.values()), surface.wetted_area_mm2
    found = [
        advice.short_of_sides(total, wetted_mm2),
        advice.crazing(total * hand.run_off(technique).on_piece, wetted_mm2),
        advice.thin_colours(poured["colours"], poured["base"]),
    ]
    outside = next((layer.layer for layer in layers if layer.outside_measured), None)
    if outside:
        known = hand.estimator.measured_range(technique, outside)
        found.append(advice.outside_measured(surface.radius_mm, *known))
    if under_resin:
        silicone = {
            material.name
            for layer in layers
            for material in layer.materials
            if material.has_silicone
        }
        found.append(advice.silicone_under_topcoat(sorted(silicone)))
    return tuple(found)
