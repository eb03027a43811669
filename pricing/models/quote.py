"""Quotes: numbered, versioned, and frozen once sent."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from pricing.models.commission import Commission
from pricing.models.fields import money_field
from pricing.models.shapes import validate_quote
from studio.modelfields import (
    DayField,
    JSONField,
    LineField,
    MomentField,
    SmallWholeField,
    WholeField,
)
from studio.models import Studio, Tracked


class Quote(Tracked):
    """A price for a commission. Once sent, nothing in it changes but its status."""

    class Status(models.TextChoices):
        DRAFT = "draft", "Draft"
        SENT = "sent", "Sent"
        VIEWED = "viewed", "Viewed"
        ACCEPTED = "accepted", "Accepted"
        DECLINED = "declined", "Declined"
        EXPIRED = "expired", "Expired"
        SUPERSEDED = "superseded", "Superseded"

    # What the customer can still answer.
    OPEN = (Status.SENT, Status.VIEWED)

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="quotes")
    commission = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="quotes")
    number = WholeField(null=True, blank=True, help_text="Given when it is sent.")
    version = SmallWholeField(default=1)
    status = models.CharField(max_length=10, choices=Status, default=Status.DRAFT)
    created_at = MomentField(default=timezone.now, editable=False)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    sent_at = MomentField(null=True, blank=True)
    viewed_at = MomentField(null=True, blank=True)
    valid_until = DayField(null=True, blank=True)
    answered_at = MomentField(null=True, blank=True)
    answered_by = LineField(max_length=120, blank=True)
    answer_note = LineField(max_length=300, blank=True)
    answered_by_link = models.BooleanField(
        default=False, help_text="The customer answered, by their private link."
    )
    currency = LineField(max_length=3)
    net = money_field()
    tax = money_field()
    gross = money_field()
    deposit = money_field()
    frozen = JSONField(
        validators=[validate_quote],
        help_text="Every input and intermediate amount it was computed from.",
    )

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "number", "version"], name="quote_number_and_version_once"
            ),
            models.UniqueConstraint(
                fields=["commission"],
                condition=Q(status="accepted"),
                name="quote_accepted_once_per_commission",
            ),
            models.CheckConstraint(
                condition=Q(status="draft") | Q(number__isnull=False), name="quote_sent_has_number"
            ),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        """“Quote 12”, “Quote 12, version 2”, or “Draft quote”."""
        if self.number is None:
            return "Draft quote"
        return f"Quote {self.number}" + (f", version {self.version}" if self.version > 1 else "")

    @property
    def is_open(self) -> bool:
        """Whether the customer can still answer it, unless its day has passed."""
        return self.status in self.OPEN

    @property
    def has_run_out(self) -> bool:
        """Whether it waits for an answer that its day does not allow any more."""
        until = self.valid_until
        return self.is_open and until is not None and until < timezone.localdate()


class QuoteLink(models.Model):
    """The private link by which a customer reads and answers a quote. Only a digest is kept."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="links")
    digest = models.CharField(max_length=64, unique=True, editable=False)
    created_at = MomentField(default=timezone.now, editable=False)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    expires_at = MomentField()
    opened_at = MomentField(null=True, blank=True)
    revoked_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["quote"], condition=Q(revoked_at=None), name="quote_link_one_that_works"
            )
        ]

    def __str__(self) -> str:
        return f"Link to {self.quote}"


class QuoteLine(Tracked):
    """What the customer reads: so many of something at a price."""

    part_of = "quote"

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="lines")
    position = SmallWholeField(default=0)
    description = LineField(max_length=300)
    quantity = SmallWholeField()
    unit_price = money_field()
    amount = money_field()

    class Meta:
        ordering = ["position", "pk"]

    def __str__(self) -> str:
        return self.description
