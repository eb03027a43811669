"""Holds: stock promised to accepted work."""

from decimal import Decimal
from typing import Self

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from inventory.models.fields import quantity_field
from inventory.models.supply import Material
from studio.modelfields import DayField, LineField, MomentField
from studio.models import AppendOnly, Studio
from studio.money import ZERO


class Work(models.Model):
    """One piece of work that stock is promised to, and that mixes are mixed for.

    An app above has a row that points at it, and knows what it is.
    """

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="works")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"Work {self.pk}"


class HoldQuerySet(models.QuerySet["Hold"]):
    def open(self) -> Self:
        """Holds that still promise something."""
        return self.filter(released_at=None)


class Hold(models.Model):
    """So much of one material, promised to one piece of work until it is poured or released."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="holds")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="holds")
    work = models.ForeignKey(Work, on_delete=models.PROTECT, related_name="holds")
    label = LineField(max_length=120)
    quantity = quantity_field(validators=[MinValueValidator(ZERO)])
    used = quantity_field(default=ZERO)
    needed_by = DayField(null=True, blank=True)
    created_at = MomentField(default=timezone.now, editable=False)
    released_at = MomentField(null=True, blank=True)

    objects = HoldQuerySet.as_manager()

    class Meta:
        ordering = ["created_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["work", "material"],
                condition=Q(released_at=None),
                name="hold_once_per_work_and_material",
            ),
            models.CheckConstraint(
                condition=Q(used__gte=0) & Q(used__lte=F("quantity")), name="hold_not_overused"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.material} for {self.label}"

    @property
    def outstanding(self) -> Decimal:
        """What is still promised, in the material's unit."""
        return self.quantity - self.used


class HoldChange(AppendOnly):
    """What was done to a hold, and when: made, changed, used of, let go.

    Written only by `inventory.stock.holds`, in the transaction of the act; `manage.py check_books`
    proves that the changes of a hold add up to what it says. ``quantity`` is by how much more, or
    less, is promised; label and day are those from then on.
    """

    class Kind(models.TextChoices):
        FOUND = "found", "There when changes began to be kept"
        MADE = "made", "Promised"
        CHANGED = "changed", "Changed"
        USED = "used", "Used"
        RELEASED = "released", "Let go"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="hold_changes")
    hold = models.ForeignKey(Hold, on_delete=models.PROTECT, related_name="changes")
    kind = models.CharField(max_length=8, choices=Kind)
    at = MomentField(default=timezone.now)
    quantity = quantity_field(default=ZERO)
    used = quantity_field(default=ZERO)
    label = LineField(max_length=120)
    needed_by = DayField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.hold}: {self.get_kind_display().lower()}"
