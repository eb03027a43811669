"""Forms for a plan that becomes a commission, and for what customers say of their test tiles."""

from typing import Any

from django import forms

from pricing.commissions.forms.commissions import CommissionForm
from pricing.estimating.forms.uses import use_choice
from pricing.models import Palette
from pricing.readiness.forms import add_reason
from studio.model_forms import own_choices
from studio.models import Studio

YES, NO = "yes", "no"
ANSWERS = ((YES, "Yes, like this"), (NO, "Not quite"))


class PlannedForm(CommissionForm):
    """Who asks for what was planned, and what the plan has not said."""

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, studio=studio, **kwargs)
        palettes = own_choices(Palette.objects.all(), studio)
        self.fields["palette"] = forms.ModelChoiceField(palettes, empty_label="Choose")
        self.fields["use"] = use_choice()
        self.order_fields(["customer", "new_customer", "new_email", "title"])
        add_reason(self)


class TileAnswerForm(forms.Form):
    """A customer's answer, written down by the studio."""

    accepted = forms.ChoiceField(
        label="What did they say?", choices=ANSWERS, widget=forms.RadioSelect
    )
    name = forms.CharField(label="Answered by", max_length=120)
    note = forms.CharField(
        label="Note",
        max_length=300,
        required=False,
        help_text="What is to be different, such as “more white, less blue”.",
    )

    @property
    def answer(self) -> dict[str, Any]:
        """What the service takes of it."""
        return {**self.cleaned_data, "accepted": self.cleaned_data["accepted"] == YES}


class CustomerTileForm(TileAnswerForm):
    """A customer's answer, given by the customer: the button that is pressed says which."""

    def __init__(self, *args: Any, number: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = f"id_tile{number}_%s"  # a page has one form a tile
        self.fields["name"] = forms.CharField(
            label="Your name",
            min_length=2,
            max_length=120,
            widget=forms.TextInput(attrs={"autocomplete": "name"}),
        )
        self.fields["note"] = forms.CharField(
            label="What should be different?",
            max_length=300,
            required=False,
            widget=forms.Textarea(attrs={"rows": 2}),
            help_text="Such as “more white, less blue”.",
        )
