"""What a price list is for: a technique, a palette, resin or none, how many at once."""

from typing import Any

from django import forms

from pricing.estimating.bases import base_problem
from pricing.estimating.forms.bases import base_choice
from pricing.models import Palette, ResinKit, Technique
from studio.model_forms import own_choices
from studio.models import Studio


class PriceListForm(forms.Form):
    """Read from the address, so that a list can be kept as a bookmark."""

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = own_choices(Technique.objects.filter(is_offered=True), studio)
        self.fields["technique"] = forms.ModelChoiceField(
            offered, to_field_name="slug", empty_label=None
        )
        self.fields["base"] = base_choice(hint="")
        self.fields["palette"] = forms.ModelChoiceField(
            own_choices(Palette.objects.select_related("studio"), studio), empty_label=None
        )
        self.fields["topcoat"] = forms.ModelChoiceField(
            own_choices(ResinKit.objects.select_related("resin", "hardener"), studio),
            required=False,
            label="Resin",
            empty_label="No resin",
        )
        self.fields["together"] = forms.IntegerField(
            label="Made in one go", min_value=1, max_value=24
        )

    def clean(self) -> dict[str, Any]:
        """Leave out a base where the technique has one kind only."""
        data = super().clean() or {}
        if (technique := data.get("technique")) and base_problem(technique, data.get("base", "")):
            data["base"] = ""
        return data
