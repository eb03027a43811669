"""What a person may type about orders."""

from decimal import Decimal
from typing import Any, ClassVar

from django import forms

from inventory.buying.purchasing import shipping_to_come
from inventory.models import OrderLine, Pack, PurchaseOrder, Supplier
from inventory.stock.forms.bottles import date_field
from inventory.stock.forms.invoices import InvoiceCurrencyForm
from studio.formfields import money_field
from studio.models import Studio
from studio.money import to_payable
from studio.sight import COSTS


class OrderLineForm(forms.Form):
    """One line of a draft order."""

    sights: ClassVar = {"unit_price": COSTS}

    count = forms.IntegerField(
        label="How many",
        min_value=0,
        max_value=10_000,
        help_text="0 takes it off the order.",
    )

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit_price"] = money_field(
            studio,
            label="Price of each",
            required=False,
            hint="Leave it empty for the supplier's price for so many.",
        )


class NewOrderForm(forms.Form):
    """How many of each pack of one supplier, and at what price where it is not the usual one."""

    def __init__(self, *args: Any, studio: Studio, supplier: Supplier, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.packs = list(supplier.packs.on_offer().select_related("material"))
        for pack in self.packs:
            self.fields[f"count_{pack.pk}"] = forms.IntegerField(
                label=f"How many of {pack.material}, {pack}",
                min_value=0,
                max_value=10_000,
                required=False,
            )
            self.fields[f"price_{pack.pk}"] = money_field(
                studio, label=f"Price of each {pack.material}, {pack}", required=False, hint=""
            )
        self.fields["notes"] = forms.CharField(
            label="Note on the order",
            max_length=1000,
            required=False,
            widget=forms.Textarea(attrs={"rows": 2}),
        )
        self.sights = {f"price_{pack.pk}": COSTS for pack in self.packs}

    def rows(self) -> list[tuple[Pack, forms.BoundField, forms.BoundField | None]]:
        """Return (pack, field of its count, field of its price if it is seen) for the page."""
        return [
            (
                pack,
                self[f"count_{pack.pk}"],
                self[price] if (price := f"price_{pack.pk}") in self.fields else None,
            )
            for pack in self.packs
        ]

    def counts(self) -> dict[Pack, int]:
        """Return {pack: how many} of what is ordered."""
        counts = {pack: self.cleaned_data[f"count_{pack.pk}"] for pack in self.packs}
        return {pack: count for pack, count in counts.items() if count}

    def prices(self) -> dict[Pack, Decimal]:
        """Return {pack: price of each} where it is not the usual one."""
        prices = {pack: self.cleaned_data.get(f"price_{pack.pk}") for pack in self.packs}
        return {pack: price for pack, price in prices.items() if price is not None}


class NewOrderLineForm(forms.Form):
    """A pack put on a draft order by hand."""

    sights: ClassVar = {"unit_price": COSTS}

    def __init__(self, *args: Any, order: PurchaseOrder, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        packs = order.supplier.packs.on_offer().select_related("material")
        self.fields["pack"] = _PackChoice(packs, label="What", empty_label="Choose")
        self.fields["count"] = forms.IntegerField(
            label="How many", min_value=1, max_value=10_000, initial=1
        )
        self.fields["unit_price"] = money_field(
            studio,
            label="Price of each",
            required=False,
            hint="Leave it empty for the supplier's price for so many.",
        )


class _PackChoice(forms.ModelChoiceField):
    def label_from_instance(self, pack: Pack) -> str:
        return f"{pack.material}, {pack}"


class ReceiveOrderForm(InvoiceCurrencyForm):
    """What came of an order: counts by line, and what it cost to get here."""

    def __init__(self, *args: Any, studio: Studio, order: PurchaseOrder, **kwargs: Any) -> None:
        super().__init__(*args, studio=studio, **kwargs)
        lines = order.lines.select_related("pack__material")
        self.lines = [line for line in lines if line.received_count < line.count]
        for line in self.lines:
            left = line.count - line.received_count
            self.fields[f"count_{line.pk}"] = forms.IntegerField(
                label="How many came",
                help_text=f"{left} still to come.",
                min_value=0,
                max_value=left,
                initial=left,
            )
            self.fields[f"price_{line.pk}"] = self.money(
                label="Paid for each",
                required=False,
                hint=f"Empty if {to_payable(line.unit_price, studio.currency)}, as ordered.",
            )
        self.fields["received_on"] = date_field(label="Arrived on", initial=studio.today)
        self.fields["freight"] = self.money(
            label="Shipping", required=False, hint="Shared by price among what came."
        )
        if shipping := shipping_to_come(order):
            self.initial["freight"] = shipping
        self.fields["duty"] = self.money(label="Duty", required=False)
        self.fields["discount"] = self.money(label="Discount", required=False)
        self.fields["reference"] = forms.CharField(
            label="Invoice number", max_length=80, required=False
        )
        self.ask_currency()
        prices = (f"price_{line.pk}" for line in self.lines)
        paid = (*prices, "freight", "duty", "discount", "currency", "rate")
        self.sights = dict.fromkeys(paid, COSTS)

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        for line in self.lines if self.is_foreign else ():
            price = f"price_{line.pk}"
            if (
                data.get(f"count_{line.pk}")
                and data.get(price) is None
                and price not in self.errors
            ):
                self.add_error(
                    price, f"Give it as on the invoice, in {self.invoice_currency}, for each pack."
                )
        return data

    def rows(self) -> list[tuple[OrderLine, forms.BoundField, forms.BoundField | None]]:
        """Return (line, field of its count, field of its price if it is seen) for the page."""
        return [
            (
                line,
                self[f"count_{line.pk}"],
                self[price] if (price := f"price_{line.pk}") in self.fields else None,
            )
            for line in self.lines
        ]

    def counts(self) -> dict[OrderLine, int]:
        """Return {line: packs that came}."""
        return {line: self.cleaned_data[f"count_{line.pk}"] or 0 for line in self.lines}

    def prices(self) -> dict[OrderLine, Decimal]:
        """Return {line: price of one pack} where it is not the one on the order."""
        typed_prices = {line: self.cleaned_data.get(f"price_{line.pk}") for line in self.lines}
        return {line: price for line, price in typed_prices.items() if price is not None}
