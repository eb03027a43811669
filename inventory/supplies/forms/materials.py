"""What is said of a material."""

from typing import Any

from django import forms

from inventory.models import Material
from inventory.models.supply import MOST_DAYS
from inventory.validators import validate_kind_change, validate_unit_change
from studio.formfields import (
    AmountText,
    field_of,
    mass_field,
    read_amount,
    show_amount,
    temperature_field,
)
from studio.model_forms import StudioModelForm

TARE_HINT = "Such as 45 g or 1.6 oz; weigh it with its lid on."


def unit(field: forms.Field, words: str) -> None:
    """Show a unit behind the input of a form field."""
    field.widget.unit = words
    field.widget.attrs["inputmode"] = "decimal"


class MaterialForm(StudioModelForm):
    shelf_life_days, opened_life_days = (
        forms.IntegerField(label=label, min_value=1, max_value=MOST_DAYS, required=False)
        for label in ("Keeps unopened", "Keeps once opened")
    )
    tare_g = mass_field(label="Empty bottle weighs", required=False, hint=TARE_HINT)
    reorder_point = AmountText(
        required=False, help_text="Leave it empty to have it worked out from use and lead time."
    )

    class Meta:
        model = Material
        fields = [
            "name",
            "kind",
            "unit",
            "swatch",
            "pigments",
            "is_stocked",
            "reorder_point",
            "tare_g",
            "density_g_per_ml",
            "shelf_life_days",
            "opened_life_days",
            "medium",
            "has_silicone",
            "is_flammable",
            "heat_limit_c",
            "notes",
        ]
        labels = {
            "swatch": "Colour",
            "is_stocked": "Count what is on the shelf",
            "has_silicone": "Contains silicone",
            "density_g_per_ml": "Density",
        }
        help_texts = {
            "swatch": "Such as #1f6f8b. It is shown beside the name.",
            "density_g_per_ml": "Weigh 100 mL and divide by 100. Most paints are 1.0 to 1.4.",
        }
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kind = field_of(self, "kind", forms.ChoiceField)
        kind.choices = [("", "Choose"), *Material.Kind.choices]
        medium = field_of(self, "medium", forms.ChoiceField)
        medium.choices = [("", "Not yet checked"), *Material.Medium.choices]
        self.fields["heat_limit_c"] = temperature_field(
            self.studio, label="Stated heat limit", least=0, most=500, required=False
        )
        for name, words in (
            ("density_g_per_ml", "g/mL"),
            ("shelf_life_days", "days"),
            ("opened_life_days", "days"),
        ):
            unit(self.fields[name], words)
        show_amount(self, "reorder_point", self.instance)

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if data.get("unit"):
            counted = Material(unit=data["unit"], density_g_per_ml=data.get("density_g_per_ml"))
            read_amount(self, "reorder_point", self.studio, counted, allow_zero=True)
        return data

    def clean_kind(self) -> str:
        kind = self.cleaned_data["kind"]
        validate_kind_change(self.instance, kind)
        return kind

    def clean_unit(self) -> str:
        unit = self.cleaned_data["unit"]
        validate_unit_change(self.instance, unit)
        return unit
