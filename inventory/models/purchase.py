"""Orders sent to suppliers, and the deliveries that answer them."""

from decimal import Decimal
from typing import Self

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from inventory.models.fields import money_field
from inventory.models.supplier import Pack, Supplier
from studio.amounts import Plus, Times, Total
from studio.dates import in_full as day
from studio.modelfields import DayField, LineField, LinesField, MomentField, WholeField
from studio.models import Studio, Tracked, Tracking
from studio.money import ZERO


class PurchaseOrderQuerySet(Tracking, models.QuerySet["PurchaseOrder"]):
    def with_totals(self) -> Self:
        """Give each order its ``goods``, what its lines come to, and its ``total``, shipped."""
        rows = self.annotate(goods=Total(Times("lines__count", "lines__unit_price")))
        return rows.annotate(total=Plus("shipping", "goods"))

    def awaited(self) -> Self:
        """Orders of which something is on its way, what is expected first on top."""
        rows = self.filter(status__in=PurchaseOrder.OPEN)
        return rows.order_by(F("expected_on").asc(nulls_last=True), "number")


class PurchaseOrder(Tracked):
    """What is asked of one supplier."""

    class Status(models.TextChoices):
        DRAFT = "draft", "Draft"
        SENT = "sent", "Sent"
        PARTLY_RECEIVED = "partly_received", "Partly received"
        RECEIVED = "received", "Received"
        CANCELLED = "cancelled", "Cancelled"

    OPEN = (Status.SENT, Status.PARTLY_RECEIVED)

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="purchase_orders")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    number = WholeField()
    status = models.CharField(max_length=16, choices=Status, default=Status.DRAFT)
    created_at = MomentField(default=timezone.now, editable=False)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    sent_on = DayField(null=True, blank=True)
    expected_on = DayField(null=True, blank=True)
    shipping = money_field(default=ZERO)
    notes = LinesField(blank=True)

    # Where they were asked for `with_totals`.
    goods: Decimal
    total: Decimal

    objects = PurchaseOrderQuerySet.as_manager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "number"], name="order_number_once")
        ]

    def __str__(self) -> str:
        return f"Order {self.number}"

    @property
    def may_be_changed(self) -> bool:
        """Whether its lines may change: only while it is a draft."""
        return self.status == self.Status.DRAFT

    @property
    def may_be_received(self) -> bool:
        """Whether something of it may still come, as it also may of a draft taken to the shop."""
        return self.status in (self.Status.DRAFT, *self.OPEN)


class OrderLine(Tracked):
    """So many of one pack, at the price expected, and why."""

    part_of = "order"

    order = models.ForeignKey(PurchaseOrder, on_delete=models.CASCADE, related_name="lines")
    pack = models.ForeignKey(Pack, on_delete=models.PROTECT, related_name="order_lines")
    count = WholeField(validators=[MinValueValidator(1)])
    received_count = WholeField(default=0)
    unit_price = money_field()
    why = LineField(max_length=300, blank=True)
    needed_by = DayField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["order", "pack"], name="order_line_once_per_pack"),
            models.CheckConstraint(
                condition=Q(received_count__lte=F("count")), name="order_line_not_over_received"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} × {self.pack}"


class Delivery(Tracked):
    """What arrived in one go, and what it cost to get here."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="deliveries")
    supplier = models.ForeignKey(
        Supplier, on_delete=models.PROTECT, related_name="deliveries", null=True, blank=True
    )
    order = models.ForeignKey(
        PurchaseOrder, on_delete=models.PROTECT, related_name="deliveries", null=True, blank=True
    )
    entry = models.OneToOneField(
        "inventory.Entry", on_delete=models.PROTECT, related_name="delivery"
    )
    received_on = DayField()
    reference = LineField(max_length=80, blank=True, help_text="The supplier's invoice.")
    discount = money_field(default=ZERO)
    freight = money_field(default=ZERO)
    duty = money_field(default=ZERO)
    currency = LineField(max_length=3)
    rate = models.DecimalField(
        "exchange rate",
        max_digits=14,
        decimal_places=8,
        default=Decimal(1),
        validators=[MinValueValidator(Decimal("0.00000001"))],
        help_text="What one unit of the invoice's currency was worth in the studio's, that day.",
    )

    class Meta:
        ordering = ["-received_on", "-pk"]
        verbose_name_plural = "deliveries"

    def __str__(self) -> str:
        return f"Delivery of {day(self.received_on)}"
