"""The quick planner's form: a size, a technique, how many."""

from django import forms

from pricing.models import Palette, ResinKit, SavedSurface, Technique
from studio.formfields import size_field
from studio.model_forms import own_choices


class PlannerForm(forms.Form):
    """Read from the address, so that a plan can be kept as a bookmark."""

    def __init__(self, *args, studio, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["surface"] = forms.ModelChoiceField(
            own_choices(SavedSurface.objects.all(), studio),
            required=False,
            label="Size you keep",
            empty_label="– or type one –",
        )
        self.fields["size"] = size_field(required=False, label="Size", hint="")
        self.fields["size"].widget.attrs["placeholder"] = "8 × 8 × 1½ in"
        offered = own_choices(Technique.objects.filter(is_offered=True), studio)
        self.fields["technique"] = forms.ModelChoiceField(
            offered, to_field_name="slug", empty_label=None
        )
        self.fields["count"] = forms.IntegerField(label="How many", min_value=1, max_value=500)
        self.fields["palette"] = forms.ModelChoiceField(
            own_choices(Palette.objects.all(), studio), required=False, empty_label="No palette"
        )
        self.fields["topcoat"] = forms.ModelChoiceField(
            own_choices(ResinKit.objects.all(), studio), required=False, empty_label="No topcoat"
        )

    def clean(self):
        data = super().clean()
        if not data.get("surface") and not data.get("size") and "size" not in self.errors:
            self.add_error("size", "Choose a size you keep, or type one such as 8 × 8 × 1½ in.")
        return data
