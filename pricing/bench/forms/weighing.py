"""The form in which a piece that dries is weighed."""

from typing import Any

from django import forms

from pricing.bench.forms.bench import poured_at_field
from pricing.models import Pour
from pricing.models.weighing import LEAST_G, MOST_G


class WeighForm(forms.Form):
    """Which piece, what it weighs with its surface, and when."""

    def __init__(self, *args: Any, pour: Pour, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        numbers = pour.pieces.order_by("number").values_list("number", flat=True)
        self.fields["piece"] = forms.TypedChoiceField(
            choices=[(number, f"Piece {number}") for number in numbers],
            coerce=int,
            help_text="Always the same piece.",
        )
        self.fields["grams"] = forms.DecimalField(
            label="It weighs, grams",
            min_value=LEAST_G,
            max_value=MOST_G,
            decimal_places=2,
            help_text="With its surface, on a scale that shows 0.1 g.",
            widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
        )
        self.fields["weighed_at"] = poured_at_field("Weighed")
