"""Palettes: a base coat, the colours over it, and the activator."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models

from inventory.models import Recipe
from studio.modelfields import LineField, LinesField, MomentField, SmallWholeField
from studio.models import Studio, Tracked


class Palette(Tracked):
    """The mixes of one look, and in what shares the colours are used."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="palettes")
    name = LineField(max_length=80)
    base = models.ForeignKey(
        Recipe, on_delete=models.PROTECT, related_name="palettes_as_base", verbose_name="base coat"
    )
    activator = models.ForeignKey(
        Recipe,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="palettes_as_activator",
        verbose_name="cell activator",
    )
    notes = LinesField(blank=True)
    archived_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["studio", "name"], name="palette_name_once")]

    def __str__(self) -> str:
        return self.name


class PaletteColour(Tracked):
    """One colour mix and how many parts of the colours it is."""

    part_of = "palette"

    palette = models.ForeignKey(Palette, on_delete=models.CASCADE, related_name="colours")
    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="palette_colours")
    parts = models.DecimalField(
        max_digits=9,
        decimal_places=3,
        default=Decimal(1),
        validators=[MinValueValidator(Decimal("0.001"))],
    )
    position = SmallWholeField(default=0)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["palette", "recipe"], name="palette_colour_once")
        ]

    def __str__(self) -> str:
        return f"{self.parts.normalize():f} {self.recipe}"
