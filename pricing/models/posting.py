"""What was earned and lost, each amount on the day it counts on."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from inventory.models.fields import value_field
from pricing.models.cost import COST, ActualCost
from pricing.models.fields import money_field
from pricing.models.pour import Pour
from pricing.models.sale import PieceSet, SaleLine
from studio.modelfields import DayField, LineField, MomentField
from studio.models import AppendOnly, Studio
from studio.money import ZERO
from studio.validators import validate_currency


class Posting(AppendOnly):
    """One dated amount of the profit: a set sold or given back, a cost that came later, a loss.

    Postings are only ever added, each by the act that causes it: what was reported of a day stays.
    What a thing has cost in all is the sum of its postings, also where pieces that are sold carry a
    pour that came later. Amounts are signed; those of a refund are below nothing.
    """

    class Kind(models.TextChoices):
        SOLD = "sold", "Sold"
        REFUNDED = "refunded", "Refunded"
        LATE = "late", "Cost that came later"
        POURS = "pours", "Pour of which nothing came out well"
        PACKING = "packing", "Packing of a set taken apart"
        AT_SHOPS = "at_shops", "Set lost or broken at a shop"
        WRITTEN_OFF = "written_off", "Set refunded and not back"

    OF_SALES = (Kind.SOLD, Kind.REFUNDED, Kind.LATE)
    OF_SETS = (Kind.PACKING, Kind.AT_SHOPS, Kind.WRITTEN_OFF)

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="postings")
    day = DayField()
    kind = models.CharField(max_length=11, choices=Kind)
    currency = LineField(max_length=3, validators=[validate_currency])
    line = models.ForeignKey(
        SaleLine, on_delete=models.PROTECT, null=True, blank=True, related_name="postings"
    )
    piece_set = models.ForeignKey(
        PieceSet, on_delete=models.PROTECT, null=True, blank=True, related_name="postings"
    )
    pour = models.ForeignKey(
        Pour, on_delete=models.PROTECT, null=True, blank=True, related_name="postings"
    )
    revenue = money_field("price and shipping charged", default=ZERO)
    tax = money_field(default=ZERO)
    fees = money_field(default=ZERO)
    shipping = money_field("shipping paid", default=ZERO)
    materials = value_field(default=ZERO)
    labour = value_field(default=ZERO)
    overhead = value_field(default=ZERO)
    minutes = value_field(default=ZERO)
    recorded_at = MomentField(
        null=True,
        blank=True,
        default=timezone.now,
        editable=False,
        help_text="Not known of what was posted before this was kept.",
    )

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["studio", "day"])]
        constraints = [
            models.CheckConstraint(
                name="posting_is_of_one_thing",
                condition=Q(kind__in=["sold", "refunded", "late"], piece_set=None, pour=None)
                & Q(line__isnull=False)
                | Q(kind="pours", piece_set=None, line=None, pour__isnull=False)
                | Q(kind__in=["packing", "at_shops", "written_off"], line=None, pour=None)
                & Q(piece_set__isnull=False),
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.line or self.piece_set or self.pour}"

    @property
    def cost(self) -> ActualCost:
        """What the thing itself cost, without what selling it took."""
        return ActualCost(*(getattr(self, name) for name in COST))
