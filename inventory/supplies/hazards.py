"""What is to be minded with a material: the acts of `studio.cautions` that it brings with it."""

from collections.abc import Iterable

from inventory.models import Material

Kind = Material.Kind
RESIN = {Kind.RESIN, Kind.HARDENER}
WET = {Kind.PAINT, Kind.MEDIUM, Kind.CONDITIONER, Kind.ADDITIVE, Kind.MIX}


def hazards_of(materials: Iterable[Material]) -> tuple[str, ...]:
    """Return the acts to be minded where some materials are opened, poured or mixed."""
    found = list(materials)
    resin = any(one.kind in RESIN for one in found)
    flammable = any(one.is_flammable for one in found)
    return (*(["resin", "resin-waste"] if resin else []), *(["solvent"] if flammable else []))


def waste_hazards_of(material: Material) -> tuple[str, ...]:
    """Return the acts to be minded where some of a material is thrown away."""
    flammable = ("solvent",) if material.is_flammable else ()
    if material.kind in RESIN:
        return ("resin-waste", "resin", *flammable)
    return ("paint-waste", *flammable) if material.kind in WET else flammable
