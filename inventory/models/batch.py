"""Batches: a mix as it was really mixed."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from inventory.models.recipe import Recipe
from studio.models import Studio


class Batch(models.Model):
    """How much of a recipe was mixed, and how thick it came out. It moves no stock."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="batches")
    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="batches")
    volume_ml = models.DecimalField(
        "mixed (mL)",
        max_digits=12,
        decimal_places=3,
        validators=[MinValueValidator(Decimal("0.1"))],
    )
    trace_seconds = models.DecimalField(
        "trace measured (seconds)",
        max_digits=5,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.1"))],
    )
    temperature_c = models.DecimalField(
        "temperature (°C)", max_digits=4, decimal_places=1, null=True, blank=True
    )
    purpose = models.CharField("what for", max_length=120, blank=True)
    notes = models.TextField(blank=True)
    made_at = models.DateTimeField("mixed at")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-made_at", "-pk"]
        verbose_name_plural = "batches"
        constraints = [
            models.CheckConstraint(condition=Q(volume_ml__gt=0), name="batch_holds_something"),
            models.CheckConstraint(
                condition=Q(trace_seconds=None) | Q(trace_seconds__gt=0),
                name="batch_trace_takes_time",
            ),
        ]

    def __str__(self):
        return f"Batch of {self.recipe}"
