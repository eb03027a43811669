"""Money that came in for commissions, and the invoices that ask for it."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from pricing.models.commission import Commission
from pricing.models.fields import InCurrency, money_field
from pricing.models.sale import Sale
from pricing.models.shapes import validate_invoice
from studio.modelfields import DayField, JSONField, LineField, MomentField, WholeField
from studio.models import Studio, Tracked
from studio.validators import validate_currency


class Payment(InCurrency, Tracked):
    """An amount that a customer paid, or below zero, was given back. It is never edited."""

    class How(models.TextChoices):
        CASH = "cash", "Cash"
        CARD = "card", "Card"
        TRANSFER = "transfer", "Bank transfer"
        CHEQUE = "cheque", "Cheque"
        OTHER = "other", "Another way"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="payments")
    number = WholeField(help_text="Of its receipt.")
    commission = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="payments")
    sale = models.ForeignKey(
        Sale, on_delete=models.PROTECT, null=True, blank=True, related_name="payments"
    )
    currency = LineField(max_length=3, validators=[validate_currency])
    amount = money_field()
    how = models.CharField("paid by", max_length=8, choices=How, default=How.OTHER)
    paid_on = DayField()
    booked_on = DayField(help_text="The day that it counts on in the books.")
    note = LineField(max_length=200, blank=True)
    owed_after = money_field(help_text="What was still owed when it was recorded.")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    recorded_at = MomentField(default=timezone.now, editable=False)
    reverses = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "number"], name="payment_number_once"),
            models.CheckConstraint(condition=~Q(amount=0), name="payment_is_something"),
        ]

    def __str__(self) -> str:
        return f"Receipt {self.number}"


class Invoice(InCurrency, Tracked):
    """What a customer is asked to pay for a commission, or a credit note that takes it back."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="invoices")
    number = WholeField()
    commission = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="invoices")
    issued_on = DayField()
    due_on = DayField()
    currency = LineField(max_length=3)
    net = money_field()
    tax = money_field()
    gross = money_field()
    frozen = JSONField(validators=[validate_invoice], help_text="All that stands on it.")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    issued_at = MomentField(default=timezone.now, editable=False)
    credits = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="credited_by"
    )

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "number"], name="invoice_number_once"),
        ]

    def __str__(self) -> str:
        return f"{'Credit note' if self.credits_id else 'Invoice'} {self.number}"
