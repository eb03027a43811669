"""The quick planner's form: a size, a technique, how many."""

from typing import Any

from django import forms

from pricing.estimating.forms.bases import base_choice
from pricing.estimating.forms.uses import use_choice
from pricing.estimating.sizes import geometry, kept_as, surface_of
from pricing.estimating.surfaces import Surface
from pricing.models import Palette, ResinKit, SavedSurface, Technique
from pricing.techniques import facts_of
from studio.errors import StudioError
from studio.formfields import ReadField
from studio.model_forms import own_choices
from studio.models import Studio
from studio.units import ParsedSize, parse_size


class PlannerForm(forms.Form):
    """Read from the address, so that a plan can be kept as a bookmark.

    ``size`` is a size as a person writes it, or the name of a surface the studio keeps; clean, it
    is the surface, and ``measured`` what it measures across. ``surfaces`` are those to choose from.
    """

    measured: SavedSurface | ParsedSize

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio = studio
        self.surfaces = list(own_choices(SavedSurface.objects.all(), studio))
        self.fields["size"] = ReadField(self._surface, label="Size", max_length=80)
        self.fields["size"].widget.attrs |= {
            "list": "sizes",
            "placeholder": "8 × 8 × 1½ in",
            "enterkeyhint": "done",
        }
        offered = own_choices(Technique.objects.filter(is_offered=True), studio)
        self.fields["technique"] = forms.ModelChoiceField(
            offered, to_field_name="slug", empty_label=None
        )
        self.fields["base"] = base_choice()
        self.fields["count"] = forms.IntegerField(label="How many", min_value=1, max_value=500)
        self.fields["palette"] = forms.ModelChoiceField(
            own_choices(Palette.objects.all(), studio), required=False, empty_label="No palette"
        )
        self.fields["topcoat"] = forms.ModelChoiceField(
            own_choices(ResinKit.objects.select_related("resin", "hardener"), studio),
            required=False,
            label="Resin",
            empty_label="No resin",
        )
        self.fields["use"] = use_choice("")

    def _surface(self, text: str) -> SavedSurface | Surface:
        by_name = {surface.name.casefold(): surface for surface in self.surfaces}
        self.measured = by_name.get(text.casefold()) or parse_size(text, self.studio.lengths)
        if isinstance(self.measured, SavedSurface):
            return self.measured
        return surface_of(self.measured)

    def kept(self, surface: Surface) -> SavedSurface | None:
        """Return the kept size that a plain surface is, or None."""
        return kept_as(surface, self.surfaces, named=str(self.data.get("size", "")))

    def clean(self) -> dict[str, Any]:
        """Leave out a base where the technique has one kind only."""
        data = super().clean() or {}
        technique = data.get("technique")
        if technique is not None and data.get("base") not in facts_of(technique.slug).bases:
            data["base"] = ""
        return data

    def clean_size(self) -> Surface:
        """Return the plain surface; a kept one whose shape cannot be is refused in words."""
        surface = self.cleaned_data["size"]
        try:
            return geometry(surface) if isinstance(surface, SavedSurface) else surface
        except StudioError as error:
            raise forms.ValidationError(str(error)) from error
