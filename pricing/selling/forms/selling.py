"""Forms for packing sets and selling them."""

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from functools import partial
from typing import Any

from django import forms

from inventory.models import Material
from pricing.bench.forms.bench import minutes_field
from pricing.costing.costs import packing_minutes
from pricing.costing.habits import habits_of
from pricing.estimating.forms.steps import StepFields
from pricing.estimating.forms.uses import use_choice
from pricing.estimating.step_materials import all_steps
from pricing.models import (
    Channel,
    Commission,
    CommissionLine,
    Customer,
    FinishedPiece,
    Payment,
    PieceSet,
    Sale,
)
from pricing.readiness.forms import add_reason
from pricing.selling.agreed import HandOver
from studio.formfields import DayField, money_field
from studio.model_forms import own_choices, start_new
from studio.models import Studio
from studio.money import ZERO

PAYS_LATER = "later"


class _Pieces(forms.ModelMultipleChoiceField):
    def label_from_instance(self, piece: FinishedPiece) -> str:
        pour = piece.pour
        what = f"{pour.surface}, {pour.technique.name.lower()}, {pour.palette}"
        return f"{what} (pour {pour.number}, piece {piece.number})"


class SetForm(forms.Form):
    """Loose pieces packed together."""

    def __init__(
        self, *args: Any, studio: Studio, line: CommissionLine | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        loose = FinishedPiece.objects.filter(studio=studio).to_pack()
        loose = loose.select_related("pour__surface", "pour__technique", "pour__palette")
        if line is not None:
            loose = loose.filter(pour__surface=line.surface)
        self.fields["pieces"] = _Pieces(
            loose.order_by("pour__number", "number"), widget=forms.CheckboxSelectMultiple
        )
        if line is not None:
            self.initial.setdefault("pieces", list(self._first(loose, line)))
            habit = habits_of(studio)[line.technique_id]
            minutes = packing_minutes(line, habit).quantize(Decimal(1), ROUND_HALF_UP)
            self.initial.setdefault("minutes", minutes)
        if line is None:
            self.fields["name"] = forms.CharField(max_length=200)
            self.fields["packaging"] = forms.ModelChoiceField(
                own_choices(Material.objects.filter(kind="packaging"), studio), required=False
            )
            start_new(self, "packaging", kind="packaging", unit="each")
        self.fields["use"] = use_choice("Not said, it is what its pieces were poured for.")
        if line is not None:
            self.initial.setdefault("use", line.use)
        more = own_choices(Material.objects.filter(kind="packaging"), studio)
        if line is not None and line.packaging_id:
            more = more.exclude(pk=line.packaging_id)
        self.fields["also"] = forms.ModelMultipleChoiceField(
            more,
            label="Also packed with",
            required=False,
            widget=forms.CheckboxSelectMultiple,
            help_text="One of each, such as tissue and a card.",
        )
        steps = all_steps().filter(technique__pours__pieces__in=loose).distinct()
        coated = None if line is None else line.topcoat_id is not None
        self.steps = StepFields(studio, steps, "pack", coated=coated)
        self.fields.update(self.steps.fields)
        self.fields["minutes"] = minutes_field("Minutes to pack", initial=0)
        self.fields["made_on"] = DayField(
            label="Packed on",
            required=False,
            initial=studio.today,
            help_text="A set is sold on that day or later.",
        )
        add_reason(self)

    @property
    def used(self) -> dict[Material, Decimal]:
        """What the last steps before packing used, where somebody says so."""
        return self.steps.used(self.cleaned_data)

    @staticmethod
    def _first(loose: Iterable[FinishedPiece], line: CommissionLine) -> list[int]:
        """Offer the pieces poured for this line first."""
        own = [piece.pk for piece in loose if piece.pour.line_id == line.pk]
        others = [piece.pk for piece in loose if piece.pour.line_id is None]
        return (own + others)[: line.pieces_each]


class UseForm(forms.Form):
    """What a packed set is for from now on."""

    why = forms.CharField(
        label="What was wrong",
        max_length=200,
        required=False,
        help_text="Such as “the wrong card was in the box”. What it was for stays on record.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["use"] = use_choice()
        self.order_fields(["use"])
        add_reason(self)


class SaleForm(forms.Form):
    """Sets sold together, each at its price; ``agreed`` is what a commission's quote says."""

    def __init__(
        self,
        *args: Any,
        studio: Studio,
        sets: Iterable[PieceSet],
        agreed: HandOver | None = None,
        commission: Commission | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.sets, self.agreed = list(sets), agreed
        prices = {one.pk: price for one, price in agreed.items} if agreed else {}
        money = partial(money_field, studio, required=False)
        if commission is not None:
            money = partial(money, currency=commission.currency)
        self.fields["channel"] = forms.ModelChoiceField(
            own_choices(Channel.objects.all(), studio), initial=agreed and agreed.channel
        )
        self.fields["sold_on"] = DayField(
            label="Sold on",
            initial=studio.today,
        )
        for one in self.sets:
            self.fields[f"price_{one.pk}"] = money(
                label=str(one),
                hint="Price paid, tax included. Leave empty when it was not sold.",
                initial=prices.get(one.pk, ""),
            )
        self.fields["shipping_charged"] = money(
            label="Charged for shipping, tax included",
            hint="As the quote says. Leave empty when nothing is charged."
            if agreed
            else "Empty: nothing, or what the quote of a commission says.",
            initial=(agreed and agreed.shipping.charged) or "",
        )
        self.fields["shipping_paid"] = money(
            label="Paid for shipping",
            hint="As the quote counted on. Say what it really cost." if agreed else "",
            initial=(agreed and agreed.shipping.paid) or "",
        )
        if commission is not None:
            self.fields["how"] = forms.ChoiceField(
                label="Paid by",
                choices=[*Payment.How.choices, (PAYS_LATER, "Not paid yet")],
                initial=Payment.How.CARD,
                help_text="What is still owed is recorded as paid, unless it is paid later.",
            )
        if commission is None:
            self.fields["customer"] = forms.ModelChoiceField(
                own_choices(Customer.objects.all(), studio), required=False
            )
        add_reason(self)

    def shipping(self) -> dict[str, Any]:
        """Return shipping as the arguments of `sell`: what was agreed stands only where unseen."""
        amounts = {name: self.cleaned_data[name] for name in ("shipping_charged", "shipping_paid")}
        if self.agreed is None:
            return amounts
        return {name: amount or ZERO for name, amount in amounts.items()}

    def payment(self) -> dict[str, Any]:
        """Return how a commission's sale is paid, as the arguments of `sell`."""
        how = self.cleaned_data.get("how")
        if how == PAYS_LATER:
            return {"pays_later": True}
        return {"how": how} if how else {}

    def items(self) -> list[tuple[PieceSet, Decimal]]:
        """Return the (set, price) pairs that were filled in."""
        priced = [(one, self.cleaned_data[f"price_{one.pk}"]) for one in self.sets]
        return [(one, price) for one, price in priced if price is not None]

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if not self.errors and not self.items():
            raise forms.ValidationError("Give the price of at least one set.")
        return data


class RefundForm(forms.Form):
    """Money given back."""

    def __init__(self, *args: Any, studio: Studio, sale: Sale, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["why"] = forms.CharField(label="Why", max_length=200)
        self.fields["fees_kept"] = money_field(
            studio, currency=sale.currency, label="Fees the channel keeps", required=False
        )
        self.fields["refunded_on"] = DayField(
            label="Money given back on",
            initial=studio.today,
            help_text="The refund counts on that day; the sale stays on its own.",
        )
        self.fields["returned"] = forms.BooleanField(
            label="The sets came back and can be sold again", required=False, initial=True
        )
