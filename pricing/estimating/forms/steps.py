"""Fields for what the steps around a pour used: as planned where they are left empty."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django import forms

from inventory.models import Material
from pricing.estimating.step_materials import use_in_words
from pricing.models import LabourStep
from studio.formfields import amount_field
from studio.models import Studio


class StepFields:
    """What the steps of an act use: a field for each material, all pieces together.

    ``coated`` tells whether the pieces get resin, where that is known.
    """

    def __init__(
        self,
        studio: Studio,
        steps: Iterable[LabourStep],
        act: str,
        *,
        coated: bool | None = None,
    ) -> None:
        kinds = (True, False) if coated is None else (coated,)
        self.steps = [
            step
            for step in steps
            if step.material
            and any(step.is_for(kind) and step.used_with(kind) == act for kind in kinds)
        ]
        words: defaultdict[Material, list[str]] = defaultdict(list)
        for step in self.steps:
            if step.material:
                words[step.material].append(f"{step}: {use_in_words(step)}")
        self.by_name = {f"used_{material.pk}": material for material in words}
        self.fields: dict[str, forms.Field] = {
            f"used_{material.pk}": amount_field(
                studio,
                material,
                allow_zero=True,
                required=False,
                label=f"{material} used",
                hint=f"{'; '.join(dict.fromkeys(said))}. If left empty, as much as that is taken.",
            )
            for material, said in words.items()
        }

    def used(self, data: Mapping[str, Any]) -> dict[Material, Decimal]:
        """Return {material: amount} of the fields that were filled in."""
        filled = {material: data.get(name) for name, material in self.by_name.items()}
        return {material: amount for material, amount in filled.items() if amount is not None}
