"""Weights of pieces that dry, as they were read off a scale."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from pricing.models.pour import FinishedPiece
from studio.modelfields import MomentField
from studio.models import Studio, Tracked

LEAST_G, MOST_G = Decimal("0.1"), Decimal(99999)


class Weighing(Tracked):
    """What one piece weighed at a moment, with its surface."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="weighings")
    piece = models.ForeignKey(FinishedPiece, on_delete=models.CASCADE, related_name="weighings")
    grams = models.DecimalField(
        "weight (grams)",
        max_digits=7,
        decimal_places=2,
        validators=[MinValueValidator(LEAST_G), MaxValueValidator(MOST_G)],
    )
    weighed_at = MomentField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    class Meta:
        ordering = ["weighed_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["piece", "weighed_at"], name="piece_weighed_once_then"),
        ]

    def __str__(self) -> str:
        return f"{self.piece}, {self.grams.normalize():f} g"
