"""What of pieces and sets came to hand and left it, day by day."""

from django.db import models
from django.db.models import Q

from inventory.models.fields import value_field
from pricing.models.pour import Pour
from pricing.models.sale import PieceSet
from studio.modelfields import DayField, SmallWholeField
from studio.models import AppendOnly, Studio
from studio.money import ZERO


class FinishedChange(AppendOnly):
    """By how much one act changed what is on hand of a set, or of the loose pieces of a pour.

    Written only by `pricing.costing.on_hand`, on the day that the act counts on; `manage.py
    check_books` proves that the changes of each add up to what is on hand. So what was there on a
    past day is the sum of the changes up to it. ``cost`` is signed.
    """

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="finished_changes")
    day = DayField()
    piece_set = models.ForeignKey(
        PieceSet, on_delete=models.PROTECT, null=True, blank=True, related_name="changes"
    )
    pour = models.ForeignKey(
        Pour, on_delete=models.PROTECT, null=True, blank=True, related_name="changes"
    )
    came = SmallWholeField(default=0)
    left = SmallWholeField(default=0)
    cost = value_field(default=ZERO)

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["studio", "day"])]
        constraints = [
            models.CheckConstraint(
                name="finished_change_of_one_thing",
                condition=Q(piece_set__isnull=False, pour=None)
                | Q(piece_set=None, pour__isnull=False),
            )
        ]

    def __str__(self) -> str:
        return f"{self.came - self.left:+} of {self.piece_set or self.pour} on {self.day}"
