"""What a frozen mix looks like, as `inventory.mixing.frozen` writes it.

Checked where it comes from somewhere else. Names are spelt out: what is stored outlives the code.
"""

from collections.abc import Mapping
from typing import Any

from studio.shapes import (
    Shape,
    above_zero,
    either,
    list_of,
    null,
    one_of,
    record,
    text,
    whole,
)

ROLES = ("base", "colour", "activator", "other")
# How deep mixes may stand in one another where they are kept; a studio's have two or three levels.
MOST_DEEP = 8
KEY = either(null, whole(1))


def _mix(inner: Shape) -> Shape:
    part = record({"name": text, "parts": above_zero, "material_id": KEY, "mix": inner})
    return record(
        {
            "recipe_id": KEY,
            "name": text,
            "role": one_of(ROLES),
            "basis": one_of(("volume", "weight")),
            "trace_seconds": either(null, above_zero),
            "keeps_days": either(null, whole(1)),
            "parts": list_of(part, 40),
        }
    )


MIX: Shape = _mix(null)
for _ in range(MOST_DEEP):
    MIX = _mix(either(null, MIX))


def validate_mix(frozen: Any) -> None:
    """Refuse what no mix is frozen as; nothing at all is a mix of before it was kept."""
    if frozen != {}:
        MIX(frozen, "")


def of_new_keys(
    stored: dict[str, Any], recipes: Mapping[str, int], materials: Mapping[str, int]
) -> None:
    """Let a stored mix name its recipe and materials by their new keys, none where one is gone."""
    stored["recipe_id"] = recipes.get(str(stored["recipe_id"]))
    for one in stored["parts"]:
        one["material_id"] = materials.get(str(one["material_id"]))
        if one["mix"]:
            of_new_keys(one["mix"], recipes, materials)
