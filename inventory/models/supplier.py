"""Who sells what, in which packs, at what price."""

from decimal import Decimal
from typing import Self

from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models

from inventory.models.fields import money_field, quantity_field
from inventory.models.supply import Material
from inventory.steps import (
    validate_breaks_shape,
    validate_price_breaks,
    validate_shipping_tiers,
    validate_tiers_shape,
)
from studio.amounts import AmountField
from studio.modelfields import EmailField, JSONField, LineField, LinesField, MomentField, WholeField
from studio.models import Studio, Tracked, Tracking
from studio.money import ZERO


class Supplier(Tracked):
    """A shop the studio buys from, and its terms."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="suppliers")
    name = LineField(max_length=120)
    email = EmailField(blank=True)
    phone = LineField(max_length=40, blank=True)
    lead_days = models.DecimalField(
        "lead time (days)",
        max_digits=5,
        decimal_places=1,
        default=Decimal(7),
        validators=[MinValueValidator(ZERO)],
    )
    lead_sd_days = models.DecimalField(
        "lead time varies by (days)",
        max_digits=5,
        decimal_places=1,
        default=Decimal(2),
        validators=[MinValueValidator(ZERO)],
    )
    minimum_order = money_field(default=ZERO)
    shipping_fee = money_field(default=ZERO)
    free_shipping_over = money_field(null=True, blank=True)
    shipping_tiers = JSONField(
        default=list,
        blank=True,
        validators=[validate_tiers_shape],
        help_text="Fees from a value of goods on, see `inventory.steps`.",
    )
    notes = LinesField(blank=True)
    archived_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "name"], name="supplier_name_once")
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        try:
            validate_shipping_tiers(self.shipping_tiers, self.shipping_fee, self.free_shipping_over)
        except ValidationError as error:
            raise ValidationError({"shipping_tiers": error}) from error


class PackQuerySet(Tracking, models.QuerySet["Pack"]):
    def on_offer(self) -> Self:
        """Only packs that can be bought now."""
        return self.filter(is_on_offer=True, supplier__archived_at=None, material__archived_at=None)


class Pack(Tracked):
    """One size a supplier sells a material in."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="packs")
    supplier = models.ForeignKey(Supplier, on_delete=models.CASCADE, related_name="packs")
    material = models.ForeignKey(Material, on_delete=models.CASCADE, related_name="packs")
    size = quantity_field(
        validators=[MinValueValidator(Decimal("0.0001"))],
        help_text="In the unit the material is counted in, as printed on the label.",
    )
    label = LineField(max_length=60, blank=True, help_text="Such as “473 mL bottle”.")
    supplier_code = LineField(max_length=60, blank=True)
    price = money_field()
    price_breaks = JSONField(
        default=list,
        blank=True,
        validators=[validate_breaks_shape],
        help_text="Prices from a number of packs on, see `inventory.steps`.",
    )
    minimum_count = WholeField(default=1, validators=[MinValueValidator(1)])
    tare_g = AmountField(
        "empty bottle (g)",
        max_digits=9,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(ZERO)],
    )
    is_on_offer = models.BooleanField(default=True)

    objects = PackQuerySet.as_manager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["material__name", "size", "supplier__name"]
        constraints = [
            models.UniqueConstraint(
                fields=["supplier", "material", "size", "label"], name="pack_once_per_supplier"
            )
        ]

    def __str__(self) -> str:
        return self.label or f"{self.size.normalize():f} {self.material.get_unit_display()}"

    def clean(self) -> None:
        try:
            validate_price_breaks(self.price_breaks, self.price, self.minimum_count)
        except ValidationError as error:
            raise ValidationError({"price_breaks": error}) from error

    @property
    def unit_price(self) -> Decimal:
        """What one mL, g or item of it costs, before shipping."""
        return self.price / self.size
