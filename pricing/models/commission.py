"""Commissions: what a customer asked for, and how far it has come."""

from datetime import date
from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from inventory.models import Material, Work
from pricing.models.palette import Palette
from pricing.models.surface import SavedSurface
from pricing.models.technique import Technique, base_field
from pricing.models.topcoat import ResinKit
from pricing.models.use import use_field
from studio.modelfields import (
    DayField,
    EmailField,
    LineField,
    LinesField,
    MomentField,
    SmallWholeField,
    WholeField,
)
from studio.models import Studio, Tracked


class Customer(Tracked):
    """Somebody who buys, or might."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="customers")
    name = LineField(max_length=120)
    email = EmailField(blank=True)
    phone = LineField(max_length=40, blank=True)
    address = LinesField(blank=True)
    notes = LinesField(blank=True)
    archived_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class Commission(Tracked):
    """One customer's request, from enquiry to paid."""

    class Status(models.TextChoices):
        ENQUIRY = "enquiry", "Enquiry"
        QUOTED = "quoted", "Quoted"
        ACCEPTED = "accepted", "Accepted"
        IN_WORK = "in_work", "In work"
        READY = "ready", "Ready"
        DELIVERED = "delivered", "Delivered"
        PAID = "paid", "Paid"
        DECLINED = "declined", "Declined"
        CANCELLED = "cancelled", "Cancelled"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="commissions")
    number = WholeField()
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="commissions")
    title = LineField(max_length=120)
    status = models.CharField(max_length=9, choices=Status, default=Status.ENQUIRY)
    due_on = DayField("wanted by", null=True, blank=True)
    promised_on = DayField("promised for", null=True, blank=True)
    notes = LinesField(blank=True)
    created_at = MomentField(default=timezone.now, editable=False)
    # What the stock room knows it as, for the holds and mixes that are for it.
    work = models.OneToOneField(
        Work, on_delete=models.PROTECT, editable=False, related_name="commission"
    )

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "number"], name="commission_number_once")
        ]

    def __str__(self) -> str:
        return f"Commission {self.number}: {self.title}"

    @property
    def wanted_on(self) -> date | None:
        """The day promised, else the day it is wanted by, or None."""
        return self.promised_on or self.due_on

    @property
    def accepted_quote(self):  # a `Quote`, which is made of commissions and so cannot be named
        """The one quote that was accepted, read afresh, or None."""
        return self.quotes.filter(status="accepted").first()

    @property
    def currency(self) -> str:
        """The currency its money is in, read afresh: as agreed, else as sold, else the studio's."""
        for rows in (self.quotes.filter(status="accepted"), self.sales, self.payments):
            found: str | None = rows.order_by("pk").values_list("currency", flat=True).first()
            if found:
                return found
        return self.studio.currency


def name_of(pieces_each: int, *, is_test: bool) -> str:
    """Return what one of a line is called before its size; empty for a piece on its own."""
    if is_test:
        return "Test tile" if pieces_each == 1 else f"{pieces_each} test tiles"
    return f"Set of {pieces_each}" if pieces_each > 1 else ""


class CommissionLine(Tracked):
    """So many pieces or sets of one size, technique and palette."""

    part_of = "commission"
    # Hands-on minutes for one, where it stands for a product that has its own, [min].
    minutes_each: Decimal | None = None

    commission = models.ForeignKey(Commission, on_delete=models.CASCADE, related_name="lines")
    position = SmallWholeField(default=0)
    surface = models.ForeignKey(SavedSurface, on_delete=models.PROTECT, related_name="lines")
    technique = models.ForeignKey(Technique, on_delete=models.PROTECT, related_name="lines")
    base = base_field()
    palette = models.ForeignKey(Palette, on_delete=models.PROTECT, related_name="lines")
    topcoat = models.ForeignKey(
        ResinKit, on_delete=models.PROTECT, null=True, blank=True, related_name="lines"
    )
    quantity = SmallWholeField(
        "how many", default=1, validators=[MinValueValidator(1), MaxValueValidator(500)]
    )
    pieces_each = SmallWholeField(
        "pieces in each",
        default=1,
        validators=[MinValueValidator(1), MaxValueValidator(24)],
        help_text="4 for a set of four coasters, 1 for a canvas.",
    )
    packaging = models.ForeignKey(
        Material,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="lines_packed",
        help_text="One box or bag for each set or piece.",
    )
    use = use_field()
    # By its number: a pour names the line that it is for, and an archive brings that in first.
    like_pour = WholeField(
        "like pour",
        null=True,
        blank=True,
        help_text="The number of the pour that it is to come out like.",
    )
    is_test = models.BooleanField(
        "test tile",
        default=False,
        help_text="Poured first, for the customer to say whether the colours are right. "
        "It is not packed or handed over.",
    )
    is_free = models.BooleanField(
        "free", default=False, help_text="A test tile that is not in the price."
    )

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(is_test=True, quantity=1) | Q(is_test=False, is_free=False),
                name="line_test_tile_is_one",
            )
        ]

    def __str__(self) -> str:
        return self.description

    @property
    def pieces(self) -> int:
        """How many pieces are poured for this line."""
        return self.quantity * self.pieces_each

    @property
    def to_pack(self) -> int:
        """How many sets or pieces of it are packed and handed over: of a test tile none."""
        return 0 if self.is_test else self.quantity

    @property
    def poured_as(self) -> str:
        """Its technique, and the base it is poured over where that is told."""
        return self.technique.over(self.base)

    @property
    def description(self) -> str:
        """What a customer would call it, such as “Set of 4 coasters…”."""
        finish = ", resin topcoat" if self.topcoat_id else ""
        poured = self.poured_as.lower()
        what = f"{self.surface.name}, {poured}, {self.palette.name}{finish}"
        called = name_of(self.pieces_each, is_test=self.is_test)
        return f"{called}: {what}" if called else what


class CommissionEvent(Tracked):
    """A step a commission took, when, and by whom."""

    part_of = "commission"

    commission = models.ForeignKey(Commission, on_delete=models.CASCADE, related_name="events")
    status = models.CharField(max_length=9, choices=Commission.Status)
    at = MomentField(default=timezone.now)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    note = LineField(max_length=300, blank=True)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.get_status_display()} {self.at:%Y-%m-%d}"
