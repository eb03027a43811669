"""The form in which a piece that dries is weighed."""

from typing import Any

from django import forms

from pricing.bench.forms.bench import poured_at_field
from pricing.models import Pour
from pricing.models.weighing import LEAST_G, MOST_G
from studio.formfields import mass_field


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
        self.fields["grams"] = mass_field(
            label="It weighs",
            least=LEAST_G,
            most=MOST_G,
            hint="With its surface, on a scale that shows 0.1 g. A plain number is grams.",
            inputmode="decimal",
        )
        self.fields["weighed_at"] = poured_at_field("Weighed")
