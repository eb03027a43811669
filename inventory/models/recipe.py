"""Recipes: what a mix is made of."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from inventory.models.supply import MOST_DAYS, Material
from studio.modelfields import LineField, LinesField, MomentField, SmallWholeField, WholeField
from studio.models import Studio, Tracked


class Recipe(Tracked):
    """A mix, as parts of materials or of other recipes."""

    class Role(models.TextChoices):
        BASE = "base", "Base coat"
        COLOUR = "colour", "Colour"
        ACTIVATOR = "activator", "Cell activator"
        OTHER = "other", "Other"

    class Basis(models.TextChoices):
        VOLUME = "volume", "Parts by volume"
        WEIGHT = "weight", "Parts by weight"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="recipes")
    name = LineField(max_length=120)
    role = models.CharField(max_length=9, choices=Role, default=Role.COLOUR)
    basis = models.CharField(max_length=6, choices=Basis, default=Basis.VOLUME)
    trace_seconds = models.DecimalField(
        "trace (seconds)",
        max_digits=5,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.1"))],
        help_text="How long a drizzled line should stay visible.",
    )
    keeps_days = WholeField(
        "keeps once mixed (days)",
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(MOST_DAYS)],
        help_text="Its pot life. Left empty, it keeps as long as its bottles; with water in it, "
        "less: 30 days, our guess.",
    )
    mix = models.OneToOneField(
        Material,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="recipe",
        help_text="The material that bottles of this mix are of, made with the first of them.",
    )
    notes = LinesField(blank=True)
    archived_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["role", "name"]
        constraints = [models.UniqueConstraint(fields=["studio", "name"], name="recipe_name_once")]

    def __str__(self) -> str:
        return self.name


class RecipePart(Tracked):
    """So many parts of a material or of another recipe."""

    part_of = "recipe"

    recipe = models.ForeignKey(Recipe, on_delete=models.CASCADE, related_name="parts")
    material = models.ForeignKey(
        Material, on_delete=models.PROTECT, null=True, blank=True, related_name="recipe_parts"
    )
    subrecipe = models.ForeignKey(
        Recipe, on_delete=models.PROTECT, null=True, blank=True, related_name="used_in"
    )
    parts = models.DecimalField(
        max_digits=9, decimal_places=3, validators=[MinValueValidator(Decimal("0.001"))]
    )
    position = SmallWholeField(default=0)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.CheckConstraint(
                name="recipe_part_is_one_thing",
                condition=Q(material__isnull=False, subrecipe__isnull=True)
                | Q(material__isnull=True, subrecipe__isnull=False),
            )
        ]

    def __str__(self) -> str:
        return f"{self.parts.normalize():f} {self.material or self.subrecipe}"
