"""What a studio keeps: paints, mediums, resin parts, tiles, boxes."""

from decimal import Decimal
from typing import Self

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Case, Q, When

from inventory.models.caches import CachesLedger
from inventory.models.fields import quantity_field, value_field
from studio.amounts import AmountField
from studio.modelfields import LineField, LinesField, MomentField, WholeField
from studio.models import Studio, Tracking
from studio.money import ZERO

MOST_DAYS = 36_500  # a date a hundred years ahead can still be written


class MaterialQuerySet(Tracking, models.QuerySet["Material"]):
    def current(self) -> Self:
        """Leave out what has been archived."""
        return self.filter(archived_at=None)

    def by_kind(self) -> Self:
        """Kinds in the order of `Material.Kind`, each by name."""
        places = [When(kind=kind, then=place) for place, kind in enumerate(Material.Kind.values)]
        return self.order_by(Case(*places), "name")


class Material(CachesLedger):
    """One kind of supply, and how it is counted."""

    class Kind(models.TextChoices):
        PAINT = "paint", "Paint"
        MEDIUM = "medium", "Medium"
        CONDITIONER = "conditioner", "Conditioner"
        ADDITIVE = "additive", "Additive"
        WATER = "water", "Water"
        RESIN = "resin", "Resin (part A)"
        HARDENER = "hardener", "Hardener (part B)"
        MIX = "mix", "Mixed or reclaimed paint"
        SURFACE = "surface", "Tile, canvas or panel"
        PACKAGING = "packaging", "Packaging"
        OTHER = "other", "Other"

    class Unit(models.TextChoices):
        ML = "ml", "mL"
        G = "g", "g"
        EACH = "each", "each"

    class Medium(models.TextChoices):
        ORDINARY = "ordinary", "Ordinary medium"
        POURING = "pouring", "Pouring medium"
        ANTI_CRAZE = "anti-craze", "Anti-craze medium"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="materials")
    name = LineField(max_length=120)
    kind = models.CharField(max_length=12, choices=Kind)
    unit = models.CharField("counted in", max_length=4, choices=Unit, default=Unit.ML)
    density_g_per_ml = models.DecimalField(
        "density (g/mL)",
        max_digits=6,
        decimal_places=4,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.1"))],
        help_text="Lets a bottle be weighed. Weigh a measured volume to find it.",
    )
    tare_g = AmountField(
        "empty bottle (g)",
        max_digits=9,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
    )
    swatch = LineField(
        max_length=7,
        blank=True,
        validators=[RegexValidator(r"^#[0-9a-fA-F]{6}$", "Give a colour such as #1f6f8b.")],
    )
    pigments = LineField(
        max_length=120, blank=True, help_text="Colour Index names, such as PB29 or PW6."
    )
    is_stocked = models.BooleanField(
        default=True, help_text="Clear for what is always there, such as tap water."
    )
    has_silicone = models.BooleanField(default=False)
    medium = models.CharField(
        "poured as",
        max_length=10,
        choices=Medium,
        blank=True,
        help_text="As its label says, also of paint sold ready to pour. It decides how thick a "
        "film may dry; what is not checked counts as ordinary.",
    )
    is_flammable = models.BooleanField(
        "catches fire easily", default=False, help_text="Alcohol, solvents, aerosols."
    )
    shelf_life_days = WholeField(null=True, blank=True, validators=[MaxValueValidator(MOST_DAYS)])
    opened_life_days = WholeField(null=True, blank=True, validators=[MaxValueValidator(MOST_DAYS)])
    reorder_point = quantity_field(
        null=True,
        blank=True,
        validators=[MinValueValidator(ZERO)],
        help_text="Set by hand. Left empty, it is worked out from use and lead time.",
    )
    heat_limit_c = models.DecimalField(
        "stated heat limit (°C)", max_digits=5, decimal_places=1, null=True, blank=True
    )
    notes = LinesField(blank=True)
    archived_at = MomentField(null=True, blank=True)

    # Caches of the ledger's sums, changed only with it; `manage.py check_books` proves them.
    LEDGER_FIELDS = ("on_hand", "value")
    on_hand = quantity_field(default=ZERO, editable=False)
    value = value_field(default=ZERO, editable=False)

    # Where it was asked for `with_promises`.
    held: Decimal
    on_order: Decimal
    available: Decimal
    projected: Decimal

    objects = MaterialQuerySet.as_manager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["kind", "name"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "name"], name="material_name_once"),
            models.CheckConstraint(condition=Q(on_hand__gte=0), name="material_never_below_zero"),
        ]

    def __str__(self) -> str:
        return self.name
