"""Batches: a mix as it was really mixed."""

from decimal import Decimal
from typing import Self

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from inventory.models.bottle import Bottle
from inventory.models.hold import Work
from inventory.models.movement import Entry
from inventory.models.recipe import Recipe
from inventory.models.shapes import validate_mix
from studio.amounts import AmountField
from studio.modelfields import JSONField, LineField, LinesField, MomentField
from studio.models import Studio, Tracked, Tracking


class BatchQuerySet(Tracking, models.QuerySet["Batch"]):
    def standing(self) -> Self:
        """Leave out what was undone."""
        return self.filter(entry__reversed_by=None)


class Batch(Tracked):
    """A mix as it was mixed: its entry took the ingredients and made its bottle of mix.

    Batches written down before mixing moved stock have neither. ``work`` is what a batch was mixed
    for, if not for stock.
    """

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="batches")
    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="batches")
    volume_ml = AmountField(
        "mixed (mL)",
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
    has_silicone = models.BooleanField(default=False)
    entry = models.OneToOneField(
        Entry, on_delete=models.PROTECT, null=True, blank=True, related_name="batch"
    )
    bottle = models.OneToOneField(
        Bottle, on_delete=models.PROTECT, null=True, blank=True, related_name="batch"
    )
    work = models.ForeignKey(
        Work,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="batches",
    )
    purpose = LineField("what for", max_length=120, blank=True)
    notes = LinesField(blank=True)
    made_of = JSONField(
        default=dict,
        blank=True,
        validators=[validate_mix],
        help_text="The recipe as it was. Not known of batches mixed before it was kept.",
    )
    made_at = MomentField("mixed at")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = BatchQuerySet.as_manager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["-made_at", "-pk"]
        verbose_name_plural = "batches"
        constraints = [
            models.CheckConstraint(condition=Q(volume_ml__gt=0), name="batch_holds_something"),
            models.CheckConstraint(
                condition=Q(trace_seconds=None) | Q(trace_seconds__gt=0),
                name="batch_trace_takes_time",
            ),
            models.CheckConstraint(
                condition=Q(entry=None, bottle=None) | Q(entry__isnull=False, bottle__isnull=False),
                name="batch_entry_makes_a_bottle",
            ),
        ]

    def __str__(self) -> str:
        return f"Batch of {self.recipe}"
