"""What limits what can be made, besides the shelf: time, and what can be sold."""

from decimal import Decimal
from typing import Any

from django import forms

from pricing.earnings.producible import LONGEST_RUN, USUAL_HOURS
from pricing.models import Channel, Product
from studio.model_forms import own_choices
from studio.models import Studio


class ProducibleForm(forms.Form):
    """Read from the address, so that it can be kept as a bookmark."""

    hours = forms.DecimalField(
        label="Hands-on hours",
        min_value=0,
        max_value=Decimal(200),
        decimal_places=2,
        initial=USUAL_HOURS,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["channel"] = forms.ModelChoiceField(
            own_choices(Channel.objects.all(), studio),
            required=False,
            label="Sold through",
            empty_label="Straight from the studio",
        )
        self.products = list(studio.products.filter(archived_at=None))
        for product in self.products:
            self.fields[_name(product)] = forms.IntegerField(
                label=product.name,
                min_value=0,
                max_value=LONGEST_RUN,
                required=False,
                widget=forms.NumberInput(attrs={"inputmode": "numeric", "placeholder": "any"}),
            )

    def limits(self) -> list[forms.BoundField]:
        """Return the fields of how many of each can be sold."""
        return [self[_name(product)] for product in self.products]

    def arguments(self) -> dict[str, Any]:
        """Return the arguments of `producible` that the form gives."""
        data = self.cleaned_data
        most = {product.pk: data[_name(product)] for product in self.products}
        return {
            "hours": data["hours"],
            "channel": data["channel"],
            "most": {pk: count for pk, count in most.items() if count is not None},
        }


def _name(product: Product) -> str:
    return f"most_{product.pk}"
