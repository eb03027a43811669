"""The form in which a batch is logged."""

from decimal import Decimal

from django import forms

from inventory.models import Recipe
from studio.formfields import volume_field
from studio.model_forms import own_choices


class BatchForm(forms.Form):
    """What was mixed, how much of it, and how thick it came out."""

    def __init__(self, *args, studio, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["recipe"] = forms.ModelChoiceField(
            own_choices(Recipe.objects.all(), studio), empty_label="– choose –"
        )
        self.fields["volume_ml"] = volume_field(studio, label="Mixed")
        self.fields["trace_seconds"] = forms.DecimalField(
            label="Trace measured (seconds)",
            required=False,
            min_value=Decimal("0.1"),
            max_value=600,
            max_digits=5,
            decimal_places=1,
            help_text="Drizzle a line and count until it has sunk in.",
            widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
        )
        self.fields["temperature_c"] = forms.DecimalField(
            label="Temperature (°C)",
            required=False,
            min_value=-10,
            max_value=60,
            max_digits=4,
            decimal_places=1,
            help_text="Paint runs faster when it is warm.",
            widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
        )
        self.fields["purpose"] = forms.CharField(label="What for", max_length=120, required=False)
        self.fields["notes"] = forms.CharField(
            required=False, widget=forms.Textarea(attrs={"rows": 2})
        )
