"""What a practitioner would say of an estimate, each with the number and the limit behind it."""

from pricing import advice

PAINT = ("base", "colours", "activator")


def judge(estimator, surface, layers, count, *, under_resin=False):
    """Return the advice on the paint of ``count`` equal pieces, past its limit or not."""
    poured = {layer.layer: float(layer.median_ml) / count for layer in layers}
    total = sum(poured.values())
    found = [
        advice.short_of_sides(total, surface.wetted_area_mm2),
        advice.crazing(total * estimator.share_on_piece, surface.wetted_area_mm2),
    ]
    if poured.get("base") and "colours" in poured:
        found.append(advice.thin_colours(poured["colours"], poured["base"]))
    if any(layer.outside_measured for layer in layers):
        found.append(advice.outside_measured(*estimator.size_range(surface)))
    if under_resin:
        silicone = {
            material.name
            for layer in layers
            for material in layer.materials
            if material.has_silicone
        }
        found.append(advice.silicone_under_topcoat(sorted(silicone)))
    return tuple(found)
