"""Resin kits: two parts, their ratio, and what the maker states of them."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models

from inventory.models import Material
from pricing.models.fields import fraction_field, length_field, minutes_field
from studio.amounts import Given
from studio.modelfields import LineField, MomentField
from studio.models import Studio, Tracked


def _positive(verbose_name: str, *, default: Decimal) -> "models.DecimalField[Given, Decimal]":
    return models.DecimalField(
        verbose_name,
        max_digits=8,
        decimal_places=2,
        validators=[MinValueValidator(Decimal("0.01"))],
        default=default,
    )


class ResinKit(Tracked):
    """A two-part resin topcoat. Every figure comes from the maker's own data sheet."""

    class Basis(models.TextChoices):
        VOLUME = "volume", "by volume"
        WEIGHT = "weight", "by weight"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="resin_kits")
    name = LineField(max_length=80)
    resin = models.ForeignKey(
        Material, on_delete=models.PROTECT, related_name="kits_as_resin", verbose_name="part A"
    )
    hardener = models.ForeignKey(
        Material, on_delete=models.PROTECT, related_name="kits_as_hardener", verbose_name="part B"
    )
    ratio_a = _positive("parts of A", default=Decimal(1))
    ratio_b = _positive("parts of B", default=Decimal(1))
    basis = models.CharField(max_length=6, choices=Basis, default=Basis.VOLUME)
    film_mm = length_field("film (mm)", default=Decimal("1.6"))
    maximum_film_mm = length_field("thickest film in one pour (mm)", default=Decimal("3.2"))
    waste = fraction_field(default=Decimal("0.15"), help_text="Left in cups and run off the edge.")
    pot_life_minutes = minutes_field("pot life (minutes)", default=Decimal(40))
    pot_life_c = models.DecimalField(
        "at (°C)", max_digits=4, decimal_places=1, default=Decimal("24")
    )
    pot_life_mass_g = _positive("in a cup of (g)", default=Decimal(100))
    recoat_from_hours = _positive("recoat from (hours)", default=Decimal(4))
    recoat_to_hours = _positive("recoat until (hours)", default=Decimal(10))
    handle_hours = _positive("handle after (hours)", default=Decimal(24))
    cure_hours = _positive("full cure (hours)", default=Decimal(168))
    heat_limit_c = models.DecimalField(
        "stated heat limit (°C)", max_digits=5, decimal_places=1, null=True, blank=True
    )
    archived_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "name"], name="resin_kit_name_once")
        ]

    def __str__(self) -> str:
        return self.name
