"""What each day took of each material, kept so that nobody has to read the ledger for it."""

from django.db import models

from inventory.models.fields import quantity_field
from inventory.models.supply import Material
from studio.modelfields import DayField
from studio.models import Studio


class DayUse(models.Model):
    """So much of one material left for good on one day of the studio's own calendar.

    A cache of the ledger, written with it by `inventory.stock.ledger` and proved by
    `manage.py check_books`. A scale that found more than was thought counts against the day's use,
    so a day may be below zero.
    """

    studio = models.ForeignKey(
        Studio, on_delete=models.CASCADE, related_name="day_uses", db_index=False
    )
    material = models.ForeignKey(
        Material, on_delete=models.CASCADE, related_name="day_uses", db_index=False
    )
    day = DayField()
    quantity = quantity_field()

    class Meta:
        ordering = ["material", "day"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "material", "day"], name="day_use_once")
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.material} on {self.day}"
