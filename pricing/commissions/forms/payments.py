"""Forms for money: what a customer paid, was given back, and the invoice that asks for it."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from pricing.models import Payment
from studio.formfields import DayField, money_field
from studio.models import Studio


class PaymentForm(forms.Form):
    """An amount, how and when it was paid."""

    def __init__(
        self,
        *args: Any,
        studio: Studio,
        currency: str,
        amount: Decimal | None = None,
        most: str | None = None,
        label: str = "Amount",
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount"] = money_field(
            studio, currency=currency, label=label, initial=amount, hint=most or ""
        )
        self.fields["how"] = forms.ChoiceField(label="Paid by", choices=Payment.How.choices)
        self.fields["paid_on"] = DayField(label="On", initial=studio.today)
        self.fields["note"] = forms.CharField(label="Note", max_length=200, required=False)


class InvoiceForm(forms.Form):
    """When an invoice is to be paid."""

    due_days = forms.IntegerField(label="To be paid within", min_value=0, max_value=365)

    def __init__(self, data: Mapping[str, Any] | None = None, *, studio: Studio) -> None:
        super().__init__(data, initial={"due_days": studio.invoice_days})
        self.fields["due_days"].widget.unit = "days"
