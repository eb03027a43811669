"""The form in which is noted how a pour was moved."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from pricing.bench.moving import MOST_TRACE, Noted, Place
from pricing.models.moved import MOST_REST, NOT_NOTED, Moved

NOT_YET = ("", NOT_NOTED.capitalize())
COVERED = {"yes": True, "no": False}


def _number(label: str, least: str, most: Decimal) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        required=False,
        min_value=Decimal(least),
        max_value=most,
        decimal_places=1,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )


class MovesForm(forms.Form):
    """How a pour was moved, heated, rested and covered; what is left alone is not known."""

    moves = forms.MultipleChoiceField(
        choices=Moved.Move.choices, required=False, widget=forms.CheckboxSelectMultiple
    )
    heat = forms.ChoiceField(
        choices=[*Moved.Heat.choices, NOT_YET], required=False, widget=forms.RadioSelect
    )
    covered = forms.ChoiceField(
        label="Covered while it dried",
        choices=[("yes", "Yes"), ("no", "No"), NOT_YET],
        required=False,
        widget=forms.RadioSelect,
    )
    rest_minutes = _number("Rest before it was moved, minutes", "0", MOST_REST)

    def __init__(self, data: Any = None, *, names: Mapping[Place, str], noted: Noted) -> None:
        self.places = {f"trace_{layer}_{at}": (layer, at) for layer, at in names}
        initial: dict[str, Any] = {
            "moves": list(noted.moves),
            "heat": noted.heat,
            "rest_minutes": noted.rest_minutes,
            "covered": {True: "yes", False: "no", None: ""}[noted.was_covered],
        }
        initial |= {key: noted.traces.get(place) for key, place in self.places.items()}
        super().__init__(data, initial=initial)
        for key, place in self.places.items():
            self.fields[key] = _number(names[place], "0.1", MOST_TRACE)

    def traces(self) -> list[forms.BoundField]:
        """Return the fields for the trace of each mix."""
        return [self[key] for key in self.places]

    def noted(self) -> Noted:
        """Return what was said."""
        data = self.cleaned_data
        return Noted(
            moves=tuple(data["moves"]),
            heat=data["heat"],
            rest_minutes=data["rest_minutes"],
            was_covered=COVERED.get(data["covered"]),
            traces={place: data[key] for key, place in self.places.items()},
        )
