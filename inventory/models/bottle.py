"""Bottles: what stands on the shelf, each with a code, a cost and what is left of it."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Self

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from inventory.models.caches import CachesLedger
from inventory.models.fields import money_field, quantity_field, value_field
from inventory.models.purchase import Delivery
from inventory.models.supplier import Pack
from inventory.models.supply import Material
from inventory.words import called, named
from studio.amounts import AmountField
from studio.modelfields import DayField, LineField, MomentField
from studio.models import Studio, Tracking
from studio.money import ZERO


class BottleQuerySet(Tracking, models.QuerySet["Bottle"]):
    def on_shelf(self) -> Self:
        """Bottles that are not archived for good."""
        return self.filter(archived_at=None)

    def in_use(self) -> Self:
        """Bottles that were opened and have something left; what is counted is no bottle."""
        rows = self.on_shelf().filter(remaining__gt=0, opened_on__isnull=False)
        return rows.exclude(material__unit=Material.Unit.EACH)

    def in_issue_order(self) -> Self:
        """First-expiring first, then first-received: the order in which bottles are used."""
        return self.filter(remaining__gt=0).order_by(
            F("expires_on").asc(nulls_last=True), "received_on", "pk"
        )


class Bottle(CachesLedger):
    """One container of what is poured, or one lot of whole items that came together.

    Which of both it is called is said by `inventory.words.called`.
    """

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="bottles")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="bottles")
    delivery = models.ForeignKey(
        Delivery, on_delete=models.PROTECT, related_name="bottles", null=True, blank=True
    )
    pack = models.ForeignKey(
        Pack, on_delete=models.SET_NULL, related_name="bottles", null=True, blank=True
    )
    code = LineField(max_length=12)
    capacity = quantity_field(validators=[MinValueValidator(ZERO)])
    tare_g = AmountField(
        "empty bottle (g)",
        max_digits=9,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(ZERO)],
    )
    density_g_per_ml = models.DecimalField(
        "density (g/mL)", max_digits=6, decimal_places=4, null=True, blank=True
    )
    price_paid = money_field(
        null=True, blank=True, help_text="What the invoice asked for it, in the studio's currency."
    )
    has_silicone = models.BooleanField(
        default=False, help_text="Whether something in this mix or run-off contains silicone."
    )
    colours = LineField(
        max_length=120, blank=True, help_text="What was poured, of run-off that was kept."
    )
    place = LineField(max_length=60, blank=True)
    received_on = DayField()
    expires_on = DayField(null=True, blank=True)
    opened_on = DayField(null=True, blank=True)
    archived_at = MomentField(null=True, blank=True)

    # Caches of the ledger's sums, changed only with it; `manage.py check_books` proves them.
    LEDGER_FIELDS = ("remaining", "value")
    remaining = quantity_field(default=ZERO, editable=False)
    value = value_field(default=ZERO, editable=False)

    objects = BottleQuerySet.as_manager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["material__name", "code"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "code"], name="bottle_code_once"),
            models.CheckConstraint(condition=Q(remaining__gte=0), name="bottle_never_below_zero"),
            models.CheckConstraint(condition=Q(value__gte=0), name="bottle_value_never_below_zero"),
        ]
        indexes = [
            models.Index(
                fields=["material", "expires_on", "received_on"],
                condition=Q(remaining__gt=0),
                name="bottle_in_issue_order",
            )
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.material}"

    @property
    def is_lot(self) -> bool:
        """Whether it is a lot of whole items, not a bottle of what is poured."""
        return self.material.unit == Material.Unit.EACH

    @property
    def called(self) -> str:
        """What it is called: ``bottle`` or ``lot``."""
        return called(self.material)

    @property
    def named(self) -> str:
        """Its name on pages, see `inventory.words.named`."""
        return named(self)

    @property
    def pack_count(self) -> int:
        """How many packs came as this row: of whole items they are one lot, else each its own.

        The size of a pack of items stays once some came, see `validate_size_change`.
        """
        if self.pack is None or not self.is_lot:
            return 1
        return max(int(self.capacity / self.pack.size), 1)

    @property
    def holds_silicone(self) -> bool:
        """Whether silicone is in it: by its material, or by what it was mixed of."""
        return self.has_silicone or self.material.has_silicone

    @property
    def keeps_until(self) -> date | None:
        """The day it expires, counted from its opening where that is sooner; None if it keeps."""
        days = self.material.opened_life_days
        opened = self.opened_on + timedelta(days=days) if self.opened_on and days else None
        return min(filter(None, (self.expires_on, opened)), default=None)

    @property
    def density(self) -> Decimal | None:
        """Density in g/mL: the bottle's own, else its material's, else None."""
        return self.density_g_per_ml or self.material.density_g_per_ml

    @property
    def may_be_weighed(self) -> bool:
        """Whether enough is known of it for a scale to tell what is left."""
        unit = self.material.unit
        if unit == Material.Unit.EACH or self.tare is None:
            return False
        return unit == Material.Unit.G or bool(self.density)

    @property
    def tare(self) -> Decimal | None:
        """Weight of the empty bottle in g: its own, else its material's, else None."""
        return self.tare_g if self.tare_g is not None else self.material.tare_g
