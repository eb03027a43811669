"""Forms for sending sets to a shop and for settling with it."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms

from pricing.models import Channel, ConsignedSet, PieceSet
from pricing.readiness.forms import add_reason
from studio.formfields import DayField, money_field
from studio.model_forms import own_choices
from studio.models import Studio

Outcome = ConsignedSet.Outcome


class SendForm(forms.Form):
    """Sets that go to a shop together, each at the price it asks."""

    def __init__(self, *args: Any, studio: Studio, sets: Iterable[PieceSet], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sets = list(sets)
        shops = own_choices(Channel.objects.filter(is_consignment=True), studio)
        self.fields["channel"] = forms.ModelChoiceField(shops, label="Shop")
        self.fields["sent_on"] = DayField(label="Handed over on", initial=studio.today)
        self.fields["due_back_on"] = DayField(label="To be settled by", required=False)
        for one in self.sets:
            self.fields[f"price_{one.pk}"] = money_field(
                studio,
                label=str(one),
                required=False,
                hint="Price asked, tax included. Leave empty when it stays here.",
            )
        self.fields["note"] = forms.CharField(
            max_length=300, required=False, help_text="Stands on the note that both sides sign."
        )
        add_reason(self)

    def items(self) -> list[tuple[PieceSet, Decimal]]:
        """Return the (set, price asked) pairs that were filled in."""
        priced = [(one, self.cleaned_data[f"price_{one.pk}"]) for one in self.sets]
        return [(one, price) for one, price in priced if price is not None]

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if not self.errors and not self.items():
            raise forms.ValidationError("Give the price of at least one set.")
        return data


class SettleForm(forms.Form):
    """What became of each set that is still at a shop."""

    def __init__(
        self, *args: Any, studio: Studio, lines: Iterable[ConsignedSet], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.lines = list(lines)
        self.fields["on"] = DayField(label="Settled on", initial=studio.today)
        choices = [
            (value, "Still there" if value == Outcome.OUT else words)
            for value, words in Outcome.choices
        ]
        for line in self.lines:
            self.fields[f"outcome_{line.pk}"] = forms.ChoiceField(
                label=str(line.piece_set), choices=choices, initial=Outcome.OUT
            )
            self.fields[f"price_{line.pk}"] = money_field(
                studio,
                currency=line.consignment.currency,
                label="Sold for, tax included",
                required=False,
                initial=line.asked,
            )
        self.fields["note"] = forms.CharField(
            max_length=200,
            required=False,
            help_text="About what came back or is lost, such as “box dented”.",
        )

    def rows(self) -> list[tuple[ConsignedSet, forms.BoundField, forms.BoundField]]:
        """Return (line, outcome field, price field) of each set for the page."""
        return [(line, self[f"outcome_{line.pk}"], self[f"price_{line.pk}"]) for line in self.lines]

    def settled(self) -> dict[str, Any]:
        """Return what was filled in as the arguments of `pricing.selling.consigning.settle`."""
        data = self.cleaned_data
        sets: dict[str, list[ConsignedSet]] = {value: [] for value in Outcome.values}
        for line in self.lines:
            sets[data[f"outcome_{line.pk}"]].append(line)
        return {
            "on": data["on"],
            "sold": [(one.piece_set, data[f"price_{one.pk}"]) for one in sets[Outcome.SOLD]],
            "returned": [one.piece_set for one in sets[Outcome.RETURNED]],
            "lost_sets": [one.piece_set for one in sets[Outcome.LOST]],
            "note": data["note"],
        }

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        for line in self.lines:
            is_sold = data.get(f"outcome_{line.pk}") == Outcome.SOLD
            if is_sold and f"price_{line.pk}" in data and data[f"price_{line.pk}"] is None:
                self.add_error(f"price_{line.pk}", "Say what it was sold for.")
        return data
