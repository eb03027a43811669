"""Sets that stand at a shop to be sold there, and still belong to the studio."""

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from pricing.models.fields import InCurrency, fraction_field, money_field
from pricing.models.sale import Channel, PieceSet, SaleLine
from studio.modelfields import DayField, LineField, MomentField, WholeField
from studio.models import Studio, Tracked
from studio.money import ZERO
from studio.validators import validate_currency


class Consignment(InCurrency, Tracked):
    """Sets sent to one shop together, under one note that both sides sign."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="consignments")
    number = WholeField()
    channel = models.ForeignKey(Channel, on_delete=models.PROTECT, related_name="consignments")
    currency = LineField(max_length=3, validators=[validate_currency])
    share = fraction_field("the shop's share of the price", default=ZERO, highest="0.9")
    sent_on = DayField()
    due_back_on = DayField("to be settled by", null=True, blank=True)
    note = LineField(max_length=300, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    recorded_at = MomentField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "number"], name="consignment_number_once")
        ]

    def __str__(self) -> str:
        return f"Consignment note {self.number}"


class ConsignedSet(Tracked):
    """One set on a consignment note, and what became of it."""

    part_of = "consignment"

    class Outcome(models.TextChoices):
        OUT = "out", "At the shop"
        SOLD = "sold", "Sold"
        RETURNED = "returned", "Came back"
        LOST = "lost", "Lost or broken"

    consignment = models.ForeignKey(Consignment, on_delete=models.CASCADE, related_name="lines")
    piece_set = models.ForeignKey(PieceSet, on_delete=models.PROTECT, related_name="consigned")
    asked = money_field("price asked", validators=[MinValueValidator(ZERO)])
    outcome = models.CharField(max_length=8, choices=Outcome, default=Outcome.OUT)
    settled_on = DayField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    note = LineField(max_length=200, blank=True)
    sale_line = models.OneToOneField(
        SaleLine, on_delete=models.PROTECT, null=True, blank=True, related_name="consigned"
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece_set"], condition=Q(outcome="out"), name="set_out_on_one_note"
            ),
            models.UniqueConstraint(fields=["consignment", "piece_set"], name="set_once_on_a_note"),
            models.CheckConstraint(
                condition=Q(outcome="out", settled_on=None)
                | (~Q(outcome="out") & Q(settled_on__isnull=False)),
                name="consigned_settled_on_a_day",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece_set} on {self.consignment}"
