"""What a unit of each material costs to replace, worked out beside the pages."""

from django.db import models

from inventory.models.fields import quantity_field, value_field
from inventory.models.supply import Material
from studio.amounts import AmountField
from studio.modelfields import DayField, JSONField, LineField, MomentField
from studio.models import Studio
from studio.money import ZERO


class ReplacementCost(models.Model):
    """What one mL, g or item costs when it is bought as the studio usually buys it.

    A cache: `inventory.buying.replacing` works it out anew when packs, terms, settings or use
    change. ``basis`` is what it rests on, as plain data: a purchase's packs, and the deliveries of
    their suppliers.
    """

    class Source(models.TextChoices):
        PLAN = "plan", "the usual purchase"
        LAST_PAID = "last_paid", "the last price paid, since no pack is on offer"
        SHELF = "shelf", "what is on hand, since it was never bought and no pack is on offer"

    studio = models.ForeignKey(
        Studio, on_delete=models.CASCADE, related_name="replacement_costs", db_index=False
    )
    material = models.OneToOneField(
        Material, on_delete=models.CASCADE, related_name="replacement_cost"
    )
    unit_cost = value_field()
    source = models.CharField(max_length=10, choices=Source)
    serves = quantity_field(
        null=True, help_text="What is used of one purchase before it spoils, in the unit."
    )
    lasts_days = AmountField(decimal_places=1, null=True, help_text="Empty without use on record.")
    used_per_day = quantity_field(default=ZERO)
    basis = JSONField(default=dict, blank=True)
    assumed = LineField(
        max_length=300, blank=True, help_text="What it takes for granted, in a sentence or two."
    )
    made_on = DayField(help_text="On the studio's own calendar.")
    read_at = MomentField(help_text="When what it rests on was read.")

    class Meta:
        ordering = ["studio", "material"]
        indexes = [models.Index(fields=["studio", "material"])]

    def __str__(self) -> str:
        return f"{self.material}: {self.get_source_display()}"
