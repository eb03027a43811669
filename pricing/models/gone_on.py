"""Acts that somebody went on with though something spoke against them, and why."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from pricing.models.commission import Commission, CommissionLine
from pricing.models.consignment import Consignment
from pricing.models.pour import Pour, Topcoating
from pricing.models.product import Product
from pricing.models.quote import Quote
from pricing.models.sale import PieceSet, Sale
from studio.modelfields import LineField, LinesField, MomentField
from studio.models import Studio, Tracked

MOST_REASON = 300


class GoneOn(Tracked):
    """One act that went on: what was said against it, and the reason that was given."""

    class Act(models.TextChoices):
        PLAN = "plan", "Planned"
        QUOTE = "quote", "Quoted"
        COAT = "coat", "Coated"
        PACK = "pack", "Packed"
        USE = "use", "Use changed"
        SELL = "sell", "Sold"
        HAND_OVER = "hand_over", "Handed over"
        CONSIGN = "consign", "Sent to a shop"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="gone_on")
    act = models.CharField(max_length=9, choices=Act)
    said = LinesField(help_text="What was said against it, a sentence a line.")
    reason = LineField(max_length=MOST_REASON)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = MomentField(default=timezone.now)
    commission = models.ForeignKey(
        Commission, on_delete=models.CASCADE, null=True, blank=True, related_name="gone_on"
    )
    line = models.ForeignKey(
        CommissionLine, on_delete=models.CASCADE, null=True, blank=True, related_name="gone_on"
    )
    quote = models.ForeignKey(
        Quote, on_delete=models.CASCADE, null=True, blank=True, related_name="gone_on"
    )
    product = models.ForeignKey(
        Product, on_delete=models.CASCADE, null=True, blank=True, related_name="gone_on"
    )
    pour = models.ForeignKey(
        Pour, on_delete=models.CASCADE, null=True, blank=True, related_name="gone_on"
    )
    topcoating = models.ForeignKey(
        Topcoating, on_delete=models.CASCADE, null=True, blank=True, related_name="gone_on"
    )
    piece_set = models.ForeignKey(
        PieceSet, on_delete=models.CASCADE, null=True, blank=True, related_name="gone_on"
    )
    sale = models.ForeignKey(
        Sale, on_delete=models.CASCADE, null=True, blank=True, related_name="gone_on"
    )
    consignment = models.ForeignKey(
        Consignment, on_delete=models.CASCADE, null=True, blank=True, related_name="gone_on"
    )

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_act_display()} before its time"

    @property
    def sentences(self) -> list[str]:
        """What was said against it."""
        return self.said.splitlines()
