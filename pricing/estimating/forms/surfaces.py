"""The form of a surface: its measured size, or the outline of any other shape."""

from typing import Any

from django import forms

from pricing.estimating.sizes import measure
from pricing.models import SavedSurface
from studio.errors import StudioError
from studio.formfields import length_field, size_field
from studio.model_forms import StudioModelForm, narrow, start_new
from studio.models import Studio
from studio.units import format_size

SIDES = ("top", "right", "bottom", "left")
ALL, NONE = "all", "none"


class SurfaceForm(StudioModelForm):
    """A surface by its measured size, read as a person writes it, or by its outline."""

    class Meta:
        model = SavedSurface
        fields = ["name", "nominal", "material", "outline"]
        labels = {
            "nominal": "Sold as",
            "material": "Stock item",
            "outline": "Outline of any other shape",
        }
        help_texts = {
            "nominal": "The size on its label, such as 4 × 4 in, beside the one you measured.",
            "outline": "Its corners in mm, such as 0,0 200,0 200,100, or one closed SVG path such "
            "as M 0 0 H 200 V 100 Z. Leave empty for the shapes above.",
        }
        widgets = {"outline": forms.Textarea(attrs={"rows": 2, "spellcheck": "false"})}

    field_order = [
        *("name", "size", "nominal", "material"),
        *("sides_painted", "inset_mm", "outline", "depth_mm"),
    ]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["size"] = size_field(
            self.studio,
            label="Measured size",
            required=False,
            hint="Face × depth of the sides: 4¼ × 4¼ × ¼ in, 30 cm round, 20 × 14 cm oval, "
            "6 in hexagon, 30 cm ring, 20 cm hole. For the depth of these add: 2 cm deep.",
        )
        self.fields["sides_painted"] = forms.MultipleChoiceField(
            choices=[(side, side.capitalize()) for side in SIDES],
            label="Sides that are painted",
            required=False,
            widget=forms.CheckboxSelectMultiple,
            help_text="Untick what stays bare. All four or none, unless it has four sides.",
        )
        self.fields["inset_mm"] = length_field(
            self.studio,
            label="Bevel",
            required=False,
            hint="How far the flat face stops short of the edge. Empty when flat to the edge.",
        )
        self.fields["depth_mm"] = length_field(
            self.studio,
            label="Depth of the outline's sides",
            required=False,
            hint="Empty when it is flat.",
        )
        narrow(self, "material", kind="surface")
        start_new(self, "material", unit="each")
        self.order_fields(self.field_order)
        self.initial.update(_kept(self.instance, self.studio))

    def clean_sides_painted(self) -> str:
        """Return the sides as they are stored: all, none, or their names."""
        ticked = [side for side in SIDES if side in self.cleaned_data["sides_painted"]]
        return ALL if len(ticked) == len(SIDES) else ", ".join(ticked) or NONE

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if self.errors:
            return data
        if bool(data.get("size")) == bool(data.get("outline")):
            raise forms.ValidationError(
                "Type the measured size, or draw the outline of another shape; one of the two."
            )
        four_sided = data.get("size") and data["size"].shape == "rectangle"
        if data["sides_painted"] not in (ALL, NONE) and not four_sided:
            raise forms.ValidationError(
                "Only a piece with four straight sides can have bare ones. Tick all or none."
            )
        try:
            measure(
                self.instance,
                data["size"],
                outline=data["outline"],
                depth_mm=data["depth_mm"],
                inset_mm=data["inset_mm"],
                sides_painted=data["sides_painted"],
            )
        except StudioError as error:
            raise forms.ValidationError(str(error)) from error
        return data


def _kept(surface: SavedSurface, studio: Studio) -> dict[str, object]:
    """Return what the form starts from: every side painted, or what the row says."""
    painted = surface.sides_painted
    ticked = {ALL: SIDES, NONE: ()}.get(painted) or [one.strip() for one in painted.split(",")]
    start: dict[str, object] = {"sides_painted": [] if painted == NONE else list(ticked)}
    if not surface.pk:
        return start
    if surface.inset_mm:
        start["inset_mm"] = f"{surface.inset_mm.normalize():f} mm"
    if not surface.outline:
        return start | {"size": format_size(surface.parsed(), studio.lengths)}
    return (
        start | {"depth_mm": f"{surface.depth_mm.normalize():f} mm"} if surface.depth_mm else start
    )
