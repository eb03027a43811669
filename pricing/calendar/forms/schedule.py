"""Forms of the schedule: a day to promise, the studio's hours and places, days off."""

from decimal import Decimal
from typing import Any

from django import forms

from pricing.models import WorkingHours
from studio.formfields import DayField


class PromiseForm(forms.Form):
    """The day a commission is promised for; none takes the promise back."""

    promised_on = DayField(label="Promise it for", required=False)


class WorkingDaysForm(forms.Form):
    """Hands-on hours of each weekday, and places to dry pieces on."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number, name in WorkingHours.Weekday.choices:
            self.fields[f"hours_{number}"] = forms.DecimalField(
                label=f"{name} (hours)",
                min_value=Decimal(0),
                max_value=Decimal(24),
                max_digits=4,
                decimal_places=2,
            )
        self.fields["rack_places"] = forms.IntegerField(
            label="Places to dry pieces",
            min_value=1,
            max_value=2000,
            help_text="How many pieces can lie level at once, drying or curing.",
        )

    @property
    def hours(self) -> list[Decimal]:
        """The hours of Monday to Sunday, [h]."""
        return [self.cleaned_data[f"hours_{number}"] for number in range(7)]


class DaysOffForm(forms.Form):
    """A day off, or several in a row."""

    first = DayField(label="First day off")
    last = DayField(label="Last day off", required=False)
    reason = forms.CharField(max_length=80, required=False)
