"""The form in which a batch is mixed."""

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from inventory.mixing.mix_book import mix_book
from inventory.models import Bottle, Recipe
from inventory.words import about
from pricing.commissions.commission_holds import HELD_IN
from pricing.models import Commission
from studio.dates import in_full as day
from studio.formfields import temperature_field, volume_field
from studio.model_forms import own_choices
from studio.models import Studio


class BatchForm(forms.Form):
    """What was mixed, how much of it, from which bottles, and how thick it came out.

    Bottles can be chosen once the recipe is: those of its ingredients, and of mixes in it.
    """

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio = studio
        self.fields["recipe"] = forms.ModelChoiceField(
            own_choices(Recipe.objects.all(), studio), empty_label="Choose"
        )
        self.fields["volume_ml"] = volume_field(studio, label="Mixed")
        self.fields["trace_seconds"] = forms.DecimalField(
            label="Trace (seconds)",
            required=False,
            min_value=Decimal("0.1"),
            max_value=600,
            max_digits=5,
            decimal_places=1,
            help_text="Count until a drizzled line has sunk in.",
            widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
        )
        self.fields["temperature_c"] = temperature_field(
            studio,
            label="Temperature",
            required=False,
            least=-10,
            most=60,
            hint="Paint runs faster when it is warm.",
        )
        self.fields["commission"] = forms.ModelChoiceField(
            own_choices(Commission.objects.filter(status__in=HELD_IN), studio).select_related(
                "customer"
            ),
            required=False,
            label="Mixed for",
            empty_label="Stock",
            help_text="What is promised to a commission goes in, and the mix is kept for it.",
        )
        self.fields["purpose"] = forms.CharField(label="What for", max_length=120, required=False)
        self.fields["place"] = forms.CharField(
            label="Where the mix stands",
            max_length=60,
            required=False,
            widget=forms.TextInput(attrs={"placeholder": "Such as shelf 2"}),
        )
        self.fields["notes"] = forms.CharField(
            required=False, widget=forms.Textarea(attrs={"rows": 2})
        )
        self._ticked: Sequence[str] = ()
        self._offered = self._bottles_for(self["recipe"].value())
        if self._offered:
            self.fields["from_bottles"] = forms.MultipleChoiceField(
                label="Take from these bottles first",
                required=False,
                choices=[(one.pk, _bottle_label(one)) for one in self._offered],
                widget=forms.CheckboxSelectMultiple,
                help_text="Nothing ticked: first what expires first, then what came first.",
            )

    def bottles(self) -> list[Bottle]:
        """Return the bottles that were ticked."""
        return [one for one in self._offered if str(one.pk) in self._ticked]

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        self._ticked = data.pop("from_bottles", ())
        return data

    def _bottles_for(self, recipe: object) -> list[Bottle]:
        """Return the bottles that a choice is worth being offered of: mixes, and ingredients that
        stand in more than one."""
        if not recipe:
            return []
        book = mix_book(self.studio)
        chosen = next((key for key in book.recipes if str(key) == str(recipe)), None)
        if chosen is None:
            return []
        inside = book.things_in(chosen)
        there = self.studio.bottles.on_shelf().filter(material__in=inside).in_issue_order()
        rows = list(there.select_related("material"))
        mixes = {one.mix_id for one in book.recipes.values()}
        of = Counter(one.material_id for one in rows)
        rows.sort(key=lambda one: (one.material_id not in mixes, one.material.name))
        return [one for one in rows if one.material_id in mixes or of[one.material_id] > 1]


def _bottle_label(bottle: Bottle) -> str:
    text = f"{bottle.code} {bottle.material}, {about(bottle.material, bottle.remaining)} left"
    return f"{text}, keeps until {day(bottle.keeps_until)}" if bottle.keeps_until else text
