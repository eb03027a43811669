"""What may be said of how stock is costed."""

from typing import Any

from django import forms

from inventory.stock.forms.bottles import date_field
from studio.formfields import field_of
from studio.models import Studio


class CostingForm(forms.Form):
    """Another costing method, and the day from which it is used."""

    method = forms.ChoiceField(label="Change to", choices=Studio.Costing.choices)
    from_day = date_field(
        label="From", help_text="Today or a later day. What was posted before stays as it was."
    )

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        now = studio.costing_in_force
        other = [(value, label) for value, label in Studio.Costing.choices if value != now]
        field_of(self, "method", forms.ChoiceField).choices = other
        self.fields["from_day"].initial = studio.today
        self.fields["from_day"].widget.attrs["min"] = studio.today().isoformat()
