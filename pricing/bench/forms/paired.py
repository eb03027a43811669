"""Forms of a paired test: drawn, poured, rated."""

from typing import Any

from django import forms

from pricing.estimating.forms.bases import base_choice
from pricing.models import PairedTest, Palette, Pour, SavedSurface, Technique
from pricing.models.judgement import LEAST, MOST
from studio.model_forms import narrow, own_choices
from studio.models import Studio

NUMBERS = [(number, str(number)) for number in range(LEAST, MOST + 1)]


class DrawForm(forms.Form):
    """What is poured, and the one change that one of two tiles gets."""

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["change"] = forms.ChoiceField(
            label="The one change",
            choices=PairedTest.Change.choices,
            help_text="One tile gets it, the other does not. All else is the same for both.",
        )
        for name, model in (
            ("surface", SavedSurface),
            ("technique", Technique),
            ("palette", Palette),
        ):
            self.fields[name] = forms.ModelChoiceField(own_choices(model.objects.all(), studio))
        narrow(self, "technique", is_offered=True)
        self.fields["base"] = base_choice(
            "Not told", "Of ring pours and flip cups: the base under them."
        )


class PouredForm(forms.Form):
    """Which pieces of which pour the two tiles are."""

    def __init__(self, *args: Any, test: PairedTest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        alike = Pour.objects.standing().filter(
            studio=test.studio_id,
            technique=test.technique_id,
            palette=test.palette_id,
            surface=test.surface_id,
            base=test.base,
            count__gte=2,
            poured_at__gte=test.drawn_at,
        )
        self.fields["pour"] = forms.ModelChoiceField(
            alike, help_text="Logged since the lot was drawn, with two tiles or more."
        )
        for name, initial in (("first", 1), ("second", 2)):
            self.fields[name] = forms.IntegerField(
                label=f"Tile {initial} is piece", min_value=1, max_value=200, initial=initial
            )


class RateForm(forms.Form):
    """How good each of the two tiles is, and which is better where they are rated the same."""

    first = forms.TypedChoiceField(
        label="Tile 1", choices=NUMBERS, coerce=int, empty_value=None, widget=forms.RadioSelect
    )
    second = forms.TypedChoiceField(
        label="Tile 2", choices=NUMBERS, coerce=int, empty_value=None, widget=forms.RadioSelect
    )
    better = forms.ChoiceField(
        label="If both are rated the same: which would you rather keep?",
        choices=[("", "–"), *PairedTest.Better.choices],
        required=False,
    )
