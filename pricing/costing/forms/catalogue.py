"""Forms for what a studio works with: palettes, kits, channels, customers, products."""

from decimal import Decimal
from typing import Any

from django import forms

from inventory.models import Recipe
from pricing.estimating.bases import base_problem
from pricing.estimating.forms.bases import base_choice
from pricing.estimating.kits import kit_problems, topcoat_problem
from pricing.models import Channel, Customer, Palette, Product, ResinKit
from pricing.models.topcoat import FIGURES, RATIO
from pricing.models.use import USE_CHOICES
from pricing.readiness.forms import add_reason
from pricing.techniques import NOT_CHECKED
from studio.formfields import (
    PercentField,
    field_of,
    film_field,
    mass_field,
    money_field,
    temperature_field,
)
from studio.model_forms import StudioModelForm, narrow, own_choices, start_new
from studio.models import Studio
from studio.sight import ADDRESSES


class CustomerForm(StudioModelForm):
    sights = dict.fromkeys(("email", "phone", "address", "notes"), ADDRESSES)

    class Meta:
        model = Customer
        fields = ["name", "email", "phone", "address", "notes"]
        labels = {"email": "E-mail"}
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }


class ChannelForm(StudioModelForm):
    percent_fee = PercentField(label="Share of the price (%)", max_value=90, initial=0)

    class Meta:
        model = Channel
        fields = [
            "name",
            "percent_fee",
            "is_consignment",
            "fixed_fee",
            "listing_fee",
            "fee_on_shipping",
        ]
        labels = {
            "fixed_fee": "Fee for each sale",
            "listing_fee": "Fee for each item",
            "fee_on_shipping": "The share is taken from shipping too",
            "is_consignment": "A shop that sells on consignment",
        }
        help_texts = {
            "fee_on_shipping": "",
            "is_consignment": "Your sets stand there until they sell; it keeps its share.",
        }


class ResinKitForm(StudioModelForm):
    waste = PercentField(label="Left in cups and run off the edge (%)", max_value=90)

    class Meta:
        model = ResinKit
        fields = [
            "name",
            "resin",
            "hardener",
            "ratio_a",
            "ratio_b",
            "basis",
            "film_mm",
            "maximum_film_mm",
            "waste",
            "pot_life_minutes",
            "pot_life_c",
            "pot_life_mass_g",
            "recoat_from_hours",
            "recoat_to_hours",
            "handle_hours",
            "cure_hours",
            "room_from_c",
            "room_to_c",
            "heat_limit_c",
        ]
        labels = {"basis": "Ratio is"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field, kind in (("resin", "resin"), ("hardener", "hardener")):
            narrow(self, field, kind=kind)
        self._take_any_unit()
        field_of(self, "basis", forms.ChoiceField).choices = [
            ("", NOT_CHECKED.capitalize()),
            *ResinKit.Basis.choices,
        ]
        for name in (*RATIO[:2], *FIGURES, "heat_limit_c"):
            self.fields[name].widget.attrs["placeholder"] = NOT_CHECKED

    def _take_any_unit(self) -> None:
        """Let temperatures, films and the weight of a cup be typed in any unit."""
        heat: dict[str, Any] = {"least": -50, "most": 500, "required": False}
        for name in ("pot_life_c", "room_from_c", "room_to_c", "heat_limit_c"):
            self.fields[name] = temperature_field(self.studio, label=self._label(name), **heat)
        for name in ("film_mm", "maximum_film_mm"):
            field = self.fields[name]
            self.fields[name] = film_field(
                label=self._label(name), required=field.required, initial=field.initial
            )
        self.fields["pot_life_mass_g"] = mass_field(
            label=self._label("pot_life_mass_g"), required=False, hint="Such as 100 g or 3.5 oz."
        )

    def _label(self, name: str) -> str:
        """Return what a field is called, without the unit that its model has it in."""
        return str(self.fields[name].label).partition(" (")[0]

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]  # the stubs lack it
        for name, problem in kit_problems(self.instance).items():
            if name not in self.errors:
                self.add_error(name, problem)


# What an address may fill in of a new product.
PRODUCT_MADE_OF = (
    *("surface", "technique", "base", "palette"),
    *("topcoat", "pieces_each", "packaging", "use"),
)


class ProductForm(StudioModelForm):
    class Meta:
        model = Product
        fields = ["name", *PRODUCT_MADE_OF, "price", "minutes"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["price"] = money_field(
            self.studio, label="Price", required=False, help_text=self.fields["price"].help_text
        )
        narrow(self, "technique", is_offered=True)
        self.fields["base"] = base_choice()
        narrow(self, "packaging", kind="packaging")
        start_new(self, "packaging", unit="each")
        for field in ("surface", "technique", "palette"):
            field_of(self, field, forms.ModelChoiceField).empty_label = "Choose"
        field_of(self, "use", forms.ChoiceField).choices = USE_CHOICES
        field_of(self, "topcoat", forms.ModelChoiceField).empty_label = "None"
        field_of(self, "packaging", forms.ModelChoiceField).empty_label = "Nothing"
        add_reason(self)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        technique = data.get("technique")
        if technique and (problem := base_problem(technique, data.get("base", ""))):
            self.add_error("base", problem)
        if problem := topcoat_problem(data.get("topcoat")):
            self.add_error("topcoat", problem)
        return data

    def clean_price(self) -> Decimal | None:
        """A price of nothing is none."""
        return self.cleaned_data["price"] or None


class PaletteForm(StudioModelForm):
    class Meta:
        model = Palette
        fields = ["name", "base", "activator", "notes"]
        widgets = {"notes": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field, role in (("base", "base"), ("activator", "activator")):
            narrow(self, field, role=role)


class PaletteColourForm(forms.Form):
    """One colour and how many parts of the colours it is."""

    recipe = forms.ModelChoiceField(Recipe.objects.none(), label="Colour mix", required=False)
    parts = forms.DecimalField(
        min_value=0,
        max_digits=9,
        decimal_places=3,
        required=False,
        help_text="",
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field_of(self, "recipe", forms.ModelChoiceField).queryset = own_choices(
            Recipe.objects.filter(role=Recipe.Role.COLOUR), studio
        )


class PaletteColours(forms.BaseFormSet):
    def clean(self) -> None:
        if any(self.errors):
            return
        recipes = [recipe for recipe, _ in self.rows()]
        if not recipes:
            raise forms.ValidationError("A palette needs at least one colour.")
        if len(set(recipes)) < len(recipes):
            raise forms.ValidationError("Each colour may stand once. Change its parts instead.")

    def rows(self) -> list[tuple[Recipe, Decimal]]:
        """Return (recipe, parts) pairs; parts left empty count as one."""
        filled = (form.cleaned_data for form in self.forms)
        return [
            (row["recipe"], row.get("parts") or Decimal(1)) for row in filled if row.get("recipe")
        ]


PaletteColourFormSet = forms.formset_factory(PaletteColourForm, formset=PaletteColours, extra=3)
