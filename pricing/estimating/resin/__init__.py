"""Resin topcoats: how much, in which pours and cups, how long, and what to mind.

`amounts` turns a film into parts A and B, `heat` gives pot life, `kit` holds what the maker states,
`plan` puts a session together, `leftover` says what the rest of two bottles gives, `checks` its
advice.
"""

from pricing.estimating.resin.amounts import FloodCoat, Parts, flood_coat, parts, two_parts
from pricing.estimating.resin.errors import ResinError
from pricing.estimating.resin.heat import pot_life_minutes
from pricing.estimating.resin.kit import Kit
from pricing.estimating.resin.leftover import Mixable, hardener_off, mixable, other_measure
from pricing.estimating.resin.plan import ResinPlan, plan

__all__ = [
    "FloodCoat",
    "Kit",
    "Mixable",
    "Parts",
    "ResinError",
    "ResinPlan",
    "flood_coat",
    "hardener_off",
    "mixable",
    "other_measure",
    "parts",
    "plan",
    "pot_life_minutes",
    "two_parts",
]
