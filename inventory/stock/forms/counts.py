"""What is said in a shelf count: where, what the scale shows, why one is left out."""

from typing import Any

from django import forms
from django.db.models import Count

from inventory.errors import SurprisingCount
from inventory.models import Bottle, Material
from inventory.stock.forms.bottles import WeighInForm
from studio.formfields import amount_field
from studio.models import Studio


class StartCountForm(forms.Form):
    """Where to count, and which kinds."""

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        bottles = studio.bottles.on_shelf().filter(remaining__gt=0).order_by()
        places = bottles.exclude(place="").values_list("place").annotate(Count("pk"))
        choices = [(place, f"{place} ({many})") for place, many in sorted(places)]
        self.fields["place"] = forms.ChoiceField(
            label="Where",
            choices=[("", "Every place"), *choices],
            required=False,
            help_text="A place stands on each bottle's page.",
        )
        kinds = set(bottles.values_list("material__kind", flat=True).distinct())
        self.fields["kinds"] = forms.MultipleChoiceField(
            label="Only these kinds",
            choices=[choice for choice in Material.Kind.choices if choice[0] in kinds],
            required=False,
            widget=forms.CheckboxSelectMultiple,
            help_text="None chosen counts everything.",
        )


class CountedForm(WeighInForm):
    """One bottle of a count: what the scale shows, or how much there is by count or measure.

    ``surprise`` is the question that came back, if one did; what is typed is then asked about once
    more, and counts as confirmed only while it stays the same.
    """

    surprise: SurprisingCount | None = None

    def __init__(
        self, *args: Any, studio: Studio, bottle: Bottle, on_scale: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.on_scale = on_scale
        if not on_scale:
            del self.fields["gross_g"]
            label = "How many are there" if bottle.material.unit == "each" else "How much is there"
            self.fields["quantity"] = amount_field(
                studio, bottle.material, label=label, allow_zero=True
            )
            if bottle.material.unit == "each":
                self.number.widget.attrs["inputmode"] = "numeric"
        self.number.widget.attrs |= {"autofocus": True, "autocomplete": "off", "class": "is-big"}
        if on_scale:
            self.number.widget.attrs["inputmode"] = "decimal"

    @property
    def name(self) -> str:
        return "gross_g" if self.on_scale else "quantity"

    @property
    def number(self) -> forms.Field:
        return self.fields[self.name]

    @property
    def number_field(self) -> forms.BoundField:
        """The one field of the form, ready to draw."""
        return self[self.name]

    @property
    def is_confirmed(self) -> bool:
        """Whether the person said of this very number that it is right."""
        typed = self.data.get(self.name, "").strip()
        return bool(typed) and self.data.get("confirmed", "").strip() == typed


class LeaveOutForm(forms.Form):
    """Why a bottle is not counted."""

    why = forms.CharField(
        label="Why", max_length=200, help_text="Such as “not found” or “lent out”."
    )


class PutBackForm(forms.Form):
    """Why a bottle is to be weighed again."""

    why = forms.CharField(
        label="Why", max_length=200, required=False, help_text="Such as “the lid was off”."
    )
