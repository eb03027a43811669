"""The first questions, and the tables of what is there and what it costs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from pricing.fitness import HOT_CUP_C
from pricing.models import ResinKit
from pricing.models.topcoat import RATIO
from pricing.starting.filling import Have, Label
from pricing.starting.pricing import Given, Thing
from pricing.starting.shelf import MAKES, Make, Piece, Supply, supplies_for
from pricing.starting.shelf.supplies import RESIN
from studio.formfields import (
    PercentField,
    amount_field,
    money_field,
    size_field,
    temperature_field,
)
from studio.models import Studio
from studio.preferences import countries
from studio.units import format_size, format_temperature

MOST = 200
LABEL = (*RATIO, "heat_limit_c", "cure_hours")


def _with_unit(field: forms.Field, unit: str) -> forms.Field:
    field.widget.unit = unit
    field.widget.attrs["inputmode"] = "decimal"
    return field


class QuestionsForm(forms.Form):
    """Where the studio is and what it charges in tax; what it makes."""

    country = forms.ChoiceField(
        label="1. Where do you work?",
        help_text="Your money, inches or centimetres, spoons and cups follow from it.",
    )
    tax_rate = PercentField(
        label="Do you charge sales tax or VAT? How much?",
        max_value=Decimal(90),
        required=False,
        help_text="Leave it empty if you charge none. Your tax office says what applies to you.",
    )
    tax_inclusive = forms.BooleanField(
        label="My prices are shown with the tax in them", required=False
    )
    makes = forms.MultipleChoiceField(
        label="2. What do you make?",
        choices=[(one.key, one.label) for one in MAKES],
        widget=forms.CheckboxSelectMultiple,
        help_text="Whatever you make now. More can be added.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        country = self.fields["country"]
        assert isinstance(country, forms.ChoiceField)
        country.choices = [("", "Choose a country"), *countries()]
        _with_unit(self.fields["tax_rate"], "%")


class SizesForm(forms.Form):
    """Which sizes of what is made, and what an hour is paid."""

    def __init__(self, *args: Any, studio: Studio, makes: Sequence[Make], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio, self.makes = studio, makes
        for make in makes:
            sizes = make.sizes[studio.lengths]
            self.fields[make.key] = forms.MultipleChoiceField(
                label=make.label,
                choices=[(one, one) for one in sizes],
                widget=forms.CheckboxSelectMultiple,
                required=False,
            )
            self.fields[f"other_{make.key}"] = size_field(
                studio, label="Another size", required=False
            )
        self.fields["hour"] = money_field(
            studio,
            label="4. What do you pay yourself for an hour of work?",
            hint="Minutes at the bench become part of each price.",
        )
        _with_unit(self.fields["hour"], studio.currency)

    @property
    def sizes(self) -> Iterator[tuple[BoundField, BoundField]]:
        """The fields of each kind of work: usual sizes, and another."""
        return ((self[make.key], self[f"other_{make.key}"]) for make in self.makes)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.errors and not self.pieces(data):
            raise forms.ValidationError("Tick at least one size, or write one.", code="none")
        return data

    def pieces(self, data: dict[str, Any]) -> list[Piece]:
        """Return the sizes that were chosen."""
        chosen = []
        for make in self.makes:
            chosen += [Piece(make, size) for size in data.get(make.key, ())]
            if other := data.get(f"other_{make.key}"):
                chosen.append(Piece(make, format_size(other, self.studio.lengths)))
        return chosen


@dataclass(frozen=True)
class ShelfRow:
    """One thing in the table: its tick, and how many of it are there."""

    supply: Supply
    one: str
    has: BoundField
    count: BoundField


class ShelfForm(forms.Form):
    """What a studio has, roughly: ticked and counted."""

    ratio_a = forms.DecimalField(
        label="Parts of A", required=False, min_value=Decimal("0.01"), max_value=Decimal(1000)
    )
    ratio_b = forms.DecimalField(
        label="Parts of B", required=False, min_value=Decimal("0.01"), max_value=Decimal(1000)
    )
    basis = forms.ChoiceField(
        label="By volume or by weight?",
        choices=[("", "Not read yet"), *ResinKit.Basis.choices],
        required=False,
    )

    cure_hours = forms.DecimalField(
        label="Full cure after",
        required=False,
        min_value=Decimal(1),
        max_value=Decimal(2000),
        help_text="7 days are 168 hours.",
    )

    def __init__(self, *args: Any, studio: Studio, pieces: Sequence[Piece], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio = studio
        self.supplies = supplies_for(pieces)
        for place, supply in enumerate(self.supplies):
            self.fields[f"has_{place}"] = forms.BooleanField(
                label=supply.name, required=False, initial=supply.is_usual
            )
            self.fields[f"count_{place}"] = self._count(supply)
        if not self.has_resin:
            for name in LABEL:
                self.fields.pop(name, None)
        else:
            hot = format_temperature(HOT_CUP_C, studio.temperature_unit)
            self.fields["heat_limit_c"] = temperature_field(
                studio,
                label="Takes heat up to",
                least=20,
                most=400,
                required=False,
                hint=f"A hot cup may have {hot}.",
            )
            _with_unit(self.fields["cure_hours"], "hours")

    def _count(self, supply: Supply) -> forms.DecimalField:
        whole = supply.unit == "each"
        field = forms.DecimalField(
            label=f"How many: {supply.name}",
            required=False,
            min_value=Decimal(0),
            max_value=Decimal(5000 if whole else MOST),
            decimal_places=0 if whole else 2,
        )
        field.widget.attrs |= {"step": "1" if whole else "any", "class": "count"}
        return field

    @property
    def has_resin(self) -> bool:
        return any(one.slug in RESIN for one in self.supplies)

    @property
    def rows(self) -> Iterator[ShelfRow]:
        for place, supply in enumerate(self.supplies):
            one = supply.one(self.studio.measures)[1]
            yield ShelfRow(supply, one, self[f"has_{place}"], self[f"count_{place}"])

    def clean(self) -> dict[str, Any]:
        """Take a thing that is counted as ticked, and refuse half a ratio."""
        data = super().clean() or {}
        ratio = [data.get(name) for name in RATIO]
        if self.has_resin and any(ratio) and not all(ratio):
            sentence = "Give both parts and what they are measured by, or leave all three empty."
            self.add_error("ratio_a", sentence)
        if not self.errors and not self.have(data):
            raise forms.ValidationError("Tick what you have, or what you will buy.", code="none")
        return data

    def have(self, data: dict[str, Any]) -> list[Have]:
        """Return what was ticked or counted."""
        return [
            Have(supply, data.get(f"count_{place}") or Decimal(0))
            for place, supply in enumerate(self.supplies)
            if data.get(f"has_{place}") or data.get(f"count_{place}")
        ]

    def label(self, data: dict[str, Any]) -> Label:
        """Return what was read off the label of the resin."""
        return Label(**{name: data[name] for name in LABEL if data.get(name)})


@dataclass(frozen=True)
class PriceRow:
    """One thing in the table: what one costs, and how much that holds."""

    thing: Thing
    price: BoundField
    holds: BoundField


class PricesForm(forms.Form):
    """What things cost; what stays empty is not yet known."""

    def __init__(
        self,
        *args: Any,
        studio: Studio,
        first: Sequence[Thing],
        others: Sequence[Thing],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.first = [one for one in first if not one.is_known]
        self.others = [one for one in others if not one.is_known]
        for thing in (*self.first, *self.others):
            self.fields[f"price_{thing.key}"] = _with_unit(
                money_field(studio, label=thing.label, required=False, hint=""), studio.currency
            )
            holds = amount_field(
                studio,
                thing.materials[0],
                label=f"How much that is: {thing.label}",
                required=False,
                hint="",
            )
            unit = thing.materials[0].get_unit_display()
            holds.initial = f"{thing.holds:f}" + ("" if unit == "each" else f" {unit}")
            self.fields[f"holds_{thing.key}"] = holds

    def _rows(self, things: Sequence[Thing]) -> Iterator[PriceRow]:
        return (PriceRow(one, self[f"price_{one.key}"], self[f"holds_{one.key}"]) for one in things)

    rows = property(lambda self: self._rows(self.first))
    more = property(lambda self: self._rows(self.others))

    def given(self, data: dict[str, Any]) -> list[Given]:
        """Return what was given, each with how much it is for."""
        return [
            Given(one, data[f"price_{one.key}"], data.get(f"holds_{one.key}") or one.holds)
            for one in (*self.first, *self.others)
            if data.get(f"price_{one.key}")
        ]
