"""What is done with bottles: received, weighed, counted, taken from, undone."""

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import Case, Q, QuerySet, When

from inventory.models import Bottle, Material, Pack, Supplier
from inventory.stock.forms.invoices import InvoiceCurrencyForm
from inventory.stock.ledger import Vessel
from inventory.supplies.forms.materials import unit
from inventory.words import amount
from studio.dates import in_full as day_in_words
from studio.formfields import DayField, ReadField, amount_field, mass_field
from studio.model_forms import StudioModelForm, own_choices
from studio.models import Studio

# What only a bottle that was in use, or has a code already, is asked.
PART_USED = ("code", "opened_on", "capacity", "tare_g", "density_g_per_ml")


def date_field(**options: Any) -> DayField:
    """A day, chosen from a calendar."""
    return DayField(**options)


def tare_field(**options: Any) -> ReadField:
    """The weight of an empty bottle, in g."""
    return mass_field(required=False, **options)


def density_field(**options: Any) -> forms.DecimalField:
    """A density, in g/mL."""
    field = forms.DecimalField(
        label="Density",
        min_value=Decimal("0.1"),
        max_value=30,
        max_digits=6,
        decimal_places=4,
        required=False,
        **options,
    )
    unit(field, "g/mL")
    return field


class BottleForm(StudioModelForm):
    """What may be changed about a bottle: never what is in it."""

    opened_on = date_field(label="Opened on", required=False)
    expires_on = date_field(label="Expires on", required=False)
    tare_g = tare_field(
        label="Empty bottle weighs",
        help_text="Weigh an empty one, lid on. Empty, it is the material's.",
    )
    density_g_per_ml = density_field(
        help_text="Weigh 100 mL and divide by 100. Empty, it is the material's."
    )

    class Meta:
        model = Bottle
        fields = ["place", "opened_on", "expires_on", "tare_g", "density_g_per_ml"]
        help_texts = {"place": "Such as “shelf 2”."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        counted_in = self.instance.material.unit
        if counted_in != "ml":
            del self.fields["density_g_per_ml"]
        if counted_in == "each":
            del self.fields["tare_g"]

    def clean_opened_on(self) -> date | None:
        day = self.cleaned_data["opened_on"]
        if day and not self.instance.received_on <= day <= self.studio.today():
            raise forms.ValidationError(
                f"It came in on {day_in_words(self.instance.received_on)}: give a day from then on."
            )
        return day


class ReceiveForm(InvoiceCurrencyForm):
    """One kind of bottle bought or found, without an order."""

    def __init__(
        self,
        *args: Any,
        studio: Studio,
        material: Material,
        pack: Pack | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, studio=studio, **kwargs)
        count = forms.IntegerField(label="How many", min_value=1, max_value=500, initial=1)
        self.fields["bottles"] = count
        self.fields["size"] = amount_field(studio, material, label="In each")
        self.fields["price"] = self.money(
            label="Paid for each", hint="Before tax. 0 if it cost nothing."
        )
        self.fields["freight"] = self.money(label="Shipping and duty for all", required=False)
        self.fields["discount"] = self.money(label="Discount on all", required=False)
        self.fields["supplier"] = forms.ModelChoiceField(
            own_choices(Supplier.objects.all(), studio), required=False, empty_label="No supplier"
        )
        self.fields["received_on"] = date_field(label="Arrived on", initial=studio.today)
        self.fields["expires_on"] = date_field(label="Expires on", required=False)
        self.fields["place"] = forms.CharField(
            max_length=60, required=False, help_text="Such as “shelf 2”."
        )
        self.ask_currency()
        self.fields["opening"] = forms.BooleanField(
            label="This was on the shelf before Pourwright", required=False
        )
        self._ask_of_part_used(studio, material)
        if pack:
            self.initial.update(
                size=amount(material, pack.size),
                price=f"{pack.price:.2f}" if pack.price == round(pack.price, 2) else pack.price,
                supplier=pack.supplier_id,
            )

    def _ask_of_part_used(self, studio: Studio, material: Material) -> None:
        """Add the fields that only a bottle that was in use, or has a code already, needs."""
        if material.unit == Material.Unit.EACH:
            return  # a lot has no vessel, and its number is nowhere to be written
        self.fields["code"] = forms.SlugField(
            label="Code", max_length=12, required=False, help_text="Empty, it gets the next number."
        )
        self.fields["opened_on"] = date_field(label="Opened on", required=False)
        self.fields["capacity"] = amount_field(
            studio,
            material,
            label="Holds when full",
            required=False,
            hint="Where it comes in part used.",
        )
        own = "Empty, it is the material's."
        self.fields["tare_g"] = tare_field(label="Empty bottle weighs", help_text=own)
        if material.unit == Material.Unit.ML:
            self.fields["density_g_per_ml"] = density_field(help_text=own)

    def bought(self) -> list[forms.BoundField]:
        """Return the fields of what is asked of every bottle."""
        return [self[name] for name in self.fields if name not in PART_USED]

    def part_used(self) -> list[forms.BoundField]:
        """Return the names of the fields of bottles that were in use or have a code."""
        return [self[name] for name in PART_USED if name in self.fields]

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        opened = data.get("opened_on")
        if opened and opened > self.studio.today():
            self.add_error("opened_on", "Give the day it was opened, not one to come.")
        if data.get("code") and (data.get("bottles") or 1) > 1:
            self.add_error("code", "One code is for one bottle: receive these one at a time.")
        return data


class TakeForm(forms.Form):
    """So much out of a bottle, and why."""

    def __init__(self, *args: Any, studio: Studio, bottle: Bottle, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["quantity"] = amount_field(studio, bottle.material, label="How much")
        self.fields["why"] = forms.CharField(label="Why", max_length=200, required=False)


class DecantForm(forms.Form):
    """How much of a bottle goes into which other one."""

    LATELY_EMPTY = 20

    def __init__(self, *args: Any, studio: Studio, bottle: Bottle, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.bottle, material = bottle, bottle.material
        self.fields["into"] = OtherBottleField(
            self._others(studio), label="Into", required=False, empty_label="A new bottle"
        )
        self.fields["quantity"] = amount_field(
            studio, material, label="How much", required=False, hint="Empty, it is all of it."
        )
        self.fields["over_capacity"] = forms.BooleanField(
            label="It takes more than it was said to hold", required=False
        )
        self.fields["capacity"] = amount_field(
            studio, material, label="The new one holds when full", required=False
        )
        self.fields["tare_g"] = tare_field(
            label="The new one weighs empty", help_text="Weigh it first, lid on."
        )
        self.fields["code"] = forms.SlugField(
            label="Its code", max_length=12, required=False, help_text="Empty, the next free one."
        )
        self.fields["place"] = forms.CharField(
            label="Its place", max_length=60, required=False, initial=bottle.place
        )
        self.fields["why"] = forms.CharField(label="Why", max_length=200, required=False)
        if material.unit == "each":
            del self.fields["tare_g"]

    def _others(self, studio: Studio) -> QuerySet[Bottle]:
        """Return the bottles of the same material: those with some in, and those empty lately."""
        rows = studio.bottles.filter(material=self.bottle.material).exclude(pk=self.bottle.pk)
        empty = rows.filter(remaining=0).order_by("-archived_at")[: self.LATELY_EMPTY]
        keys = [row.pk for row in empty]
        rows = rows.filter(Q(remaining__gt=0) | Q(pk__in=keys)).select_related("material")
        return rows.order_by(Case(When(remaining=0, then=1), default=0), "code")

    def vessel(self) -> Bottle | Vessel:
        """Return what to pour into: the bottle that was chosen, or what a new one is like."""
        data = self.cleaned_data
        if data["into"]:
            return data["into"]
        return Vessel(data["code"], data["capacity"], data.get("tare_g"), data["place"])


class OtherBottleField(forms.ModelChoiceField):
    """A bottle, by its code and what is in it."""

    def label_from_instance(self, row: Bottle) -> str:
        if not row.remaining:
            return f"{row.code}, empty, holds {amount(row.material, row.capacity)}"
        held = f"{amount(row.material, row.remaining)} of {amount(row.material, row.capacity)}"
        return ", ".join(filter(None, (row.code, held, row.place)))


class WeighInForm(forms.Form):
    """A bottle on the kitchen scale."""

    gross_g = mass_field(
        label="The scale shows",
        most=Decimal(50_000),
        hint="In g, or with its unit: 1 lb 2 oz.",
        inputmode="decimal",
    )


class RecountForm(forms.Form):
    """What is really there, counted or measured by hand."""

    def __init__(self, *args: Any, studio: Studio, bottle: Bottle, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["quantity"] = amount_field(
            studio, bottle.material, label="What is left", allow_zero=True
        )
        self.fields["quantity"].help_text += " 0 when it is empty."


class UndoForm(forms.Form):
    """The reason for undoing something."""

    why = forms.CharField(label="Why", max_length=200, help_text="Such as “counted twice”.")
