"""What was on hand of each material at the end of each month, so that no past day asks all of the
ledger.
"""

from django.db import models

from inventory.models.fields import quantity_field, value_field
from inventory.models.supply import Material
from studio.modelfields import DayField
from studio.models import Studio


class MonthEnd(models.Model):
    """What was on hand of one material at the end of a month in which it moved.

    A cache of the ledger, written with it by `inventory.stock.ledger` and proved by `manage.py
    check_books`. Of a month without a row, the latest row before it holds.
    """

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="month_ends")
    material = models.ForeignKey(
        Material, on_delete=models.CASCADE, related_name="month_ends", db_index=False
    )
    month = DayField(help_text="The first day of the month.")
    quantity = quantity_field()
    value = value_field()

    class Meta:
        ordering = ["material", "month"]
        constraints = [models.UniqueConstraint(fields=["material", "month"], name="month_end_once")]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.material} at the end of {self.month:%B %Y}"
