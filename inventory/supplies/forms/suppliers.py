"""What a person may type about suppliers and the packs they sell."""

from decimal import Decimal
from typing import Any

from django import forms

from inventory.models import Pack, Supplier
from inventory.steps import CENT, PRICE_BREAKS, SHIPPING_TIERS
from inventory.supplies.forms.materials import TARE_HINT, unit
from inventory.supplies.forms.steps import StepsField
from inventory.validators import validate_size_change
from studio.formfields import AmountText, field_of, mass_field, read_amount, show_amount
from studio.model_forms import StudioModelForm
from studio.sight import COSTS


def priced(form: StudioModelForm, *names: str) -> None:
    """Show the currency behind the form's amounts of money, and cents rather than tenths."""
    for name in names:
        unit(form.fields[name], form.studio.currency)
        value = form.initial.get(name)
        if isinstance(value, Decimal) and value % 1 and value == round(value, 2):
            form.initial[name] = value.quantize(CENT)


class SupplierForm(StudioModelForm):
    sights = dict.fromkeys(
        ("shipping_fee", "shipping_tiers", "free_shipping_over", "minimum_order"), COSTS
    )
    shipping_tiers = StepsField(
        SHIPPING_TIERS,
        label="Shipping for larger orders",
        help_text=f"From what value of goods, and the fee then: {SHIPPING_TIERS.example}.",
    )

    class Meta:
        model = Supplier
        fields = [
            "name",
            "email",
            "phone",
            "lead_days",
            "lead_sd_days",
            "shipping_fee",
            "shipping_tiers",
            "free_shipping_over",
            "minimum_order",
            "notes",
        ]
        labels = {
            "email": "E-mail",
            "lead_days": "Arrives in about",
            "lead_sd_days": "Give or take",
            "shipping_fee": "Shipping",
            "free_shipping_over": "Shipping is free from",
            "minimum_order": "Least order",
        }
        help_texts = {
            "free_shipping_over": "Leave it empty when shipping is never free.",
            "minimum_order": "0 when any order will do.",
        }
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        unit(self.fields["lead_days"], "days")
        unit(self.fields["lead_sd_days"], "days")
        field_of(self, "shipping_tiers", StepsField).currency = self.studio.currency
        priced(self, "shipping_fee", "free_shipping_over", "minimum_order")


class PackForm(StudioModelForm):
    """A pack of one supplier; the size is read in the material's unit."""

    sights = dict.fromkeys(("price", "price_breaks"), COSTS)

    price_breaks = StepsField(
        PRICE_BREAKS,
        label="Cheaper by the number",
        help_text=f"From how many, and the price of each then: {PRICE_BREAKS.example}.",
    )

    size = AmountText(
        label="Holds", help_text="In any unit: 32 fl oz, 1 gal, 473 mL, 500 g; of items how many."
    )
    tare_g = mass_field(label="Empty bottle weighs", required=False, hint=TARE_HINT)

    class Meta:
        model = Pack
        fields = [
            "material",
            "label",
            "size",
            "price",
            "price_breaks",
            "minimum_count",
            "supplier_code",
            "tare_g",
            "is_on_offer",
        ]
        labels = {
            "label": "Sold as",
            "minimum_count": "Least number sold at once",
            "supplier_code": "The supplier's own code",
            "is_on_offer": "Can be bought now",
        }
        help_texts = {
            "price": "Before tax and shipping.",
        }

    def __init__(self, *args: Any, supplier: Supplier, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.supplier = supplier
        field_of(self, "material", forms.ModelChoiceField).empty_label = "Choose"
        field_of(self, "price_breaks", StepsField).currency = self.studio.currency
        priced(self, "price")
        if self.instance.pk:
            show_amount(self, "size", self.instance.material)

    def _get_validation_exclusions(self) -> set[str]:
        return super()._get_validation_exclusions() - {"supplier"}

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        material = data.get("material")
        if material and "size" in data:
            read_amount(self, "size", self.studio, material)
        else:
            data.pop("size", None)  # in which unit it is, is not known
        size = data.get("size")
        if size and material == getattr(self.instance, "material", None):
            try:
                validate_size_change(self.instance, size)
            except forms.ValidationError as error:
                self.add_error("size", error)
        return data
