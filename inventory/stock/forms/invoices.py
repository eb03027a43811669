"""What an invoice asks for, in whatever currency it is written."""

from decimal import Decimal
from typing import Any

from django import forms

from studio.formfields import MoneyField, money_field
from studio.models import Studio
from studio.money import MINOR_UNITS
from studio.settings_form import currencies


class InvoiceCurrencyForm(forms.Form):
    """A form whose amounts are in the currency of the invoice, at a rate typed by hand."""

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio = studio
        named = self.data.get("currency")
        self.invoice_currency = named if named in MINOR_UNITS else studio.currency

    def money(self, **options: Any) -> MoneyField:
        """Return a field for an amount in the currency of the invoice."""
        return money_field(self.studio, currency=self.invoice_currency, **options)

    def ask_currency(self) -> None:
        """Add the currency of the invoice and what one of it is worth."""
        own = self.studio.currency
        self.fields["currency"] = forms.ChoiceField(
            label="The invoice is in", choices=currencies(), initial=own, required=False
        )
        self.fields["rate"] = forms.DecimalField(
            label="Exchange rate of the day",
            help_text=f"How many {own} one of the invoice's currency was worth, such as 1.0873. "
            f"Leave it empty for an invoice in {own}.",
            min_value=Decimal("0.00000001"),
            max_digits=14,
            decimal_places=8,
            required=False,
        )
        self.fields["rate"].widget.attrs["inputmode"] = "decimal"

    @property
    def is_foreign(self) -> bool:
        """Whether the invoice is in another currency than the studio's."""
        return self.invoice_currency != self.studio.currency

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if "currency" not in self.fields:  # left out for somebody who does not see costs
            self.invoice_currency = self.studio.currency
        data["currency"] = self.invoice_currency
        if self.is_foreign and not data.get("rate") and "rate" not in self.errors:
            self.add_error(
                "rate",
                f"Give the rate of the day: how many {self.studio.currency} one "
                f"{self.invoice_currency} was worth.",
            )
        if not self.is_foreign and not data.get("rate"):
            data["rate"] = Decimal(1)
        return data
