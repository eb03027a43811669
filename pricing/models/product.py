"""Products: what a studio makes again and again, at its own price."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from inventory.models import Material
from pricing.models.commission import CommissionLine
from pricing.models.fields import minutes_field, money_field
from pricing.models.palette import Palette
from pricing.models.surface import SavedSurface
from pricing.models.technique import Technique, base_field
from pricing.models.topcoat import ResinKit
from pricing.models.use import use_field
from studio.modelfields import LineField, MomentField, SmallWholeField
from studio.models import Studio, Tracked


class Product(Tracked):
    """One piece, or a set of equal pieces, that is made without anybody having ordered it."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="products")
    name = LineField(max_length=80)
    surface = models.ForeignKey(SavedSurface, on_delete=models.PROTECT, related_name="products")
    technique = models.ForeignKey(Technique, on_delete=models.PROTECT, related_name="products")
    base = base_field()
    palette = models.ForeignKey(Palette, on_delete=models.PROTECT, related_name="products")
    topcoat = models.ForeignKey(
        ResinKit,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="products",
        verbose_name="resin topcoat",
    )
    pieces_each = SmallWholeField(
        "pieces in each",
        default=1,
        validators=[MinValueValidator(1), MaxValueValidator(24)],
        help_text="4 for a set of four coasters, 1 for a canvas.",
    )
    packaging = models.ForeignKey(
        Material,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="products_packed",
        verbose_name="packed in",
        help_text="One box or bag for each set or piece.",
    )
    use = use_field()
    price = money_field(
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01"))],
        help_text="As the customer reads it. Left empty, it is what a quote for one would be.",
    )
    minutes = minutes_field(
        "hands-on minutes",
        null=True,
        blank=True,
        help_text="For one. Left empty, they come from the steps of the technique.",
    )
    archived_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["studio", "name"], name="product_name_once")]

    def __str__(self) -> str:
        return self.name

    def line(self, quantity: int = 1) -> CommissionLine:
        """Return so many of it as a commission's line, not saved, so that it counts as one does."""
        line = CommissionLine(
            surface=self.surface,
            technique=self.technique,
            base=self.base,
            palette=self.palette,
            topcoat=self.topcoat,
            quantity=quantity,
            pieces_each=self.pieces_each,
            packaging=self.packaging,
            use=self.use,
        )
        line.minutes_each = self.minutes
        return line
