"""Resin kits: two parts, their ratio, and what the maker states of them."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models

from inventory.models import Material
from pricing.fitness import takes_hot_cups
from pricing.models.fields import fraction_field, length_field
from pricing.techniques import GUESSES, ONCE_FILLED_IN
from studio.amounts import Given
from studio.modelfields import LineField, MomentField
from studio.models import Studio, Tracked

# What the maker states, and a person reads off the label; empty while nobody has.
RATIO = ("ratio_a", "ratio_b", "basis")
FIGURES = (
    *("maximum_film_mm", "pot_life_minutes", "pot_life_c", "pot_life_mass_g"),
    *("recoat_from_hours", "recoat_to_hours", "handle_hours", "cure_hours"),
    *("room_from_c", "room_to_c"),
)


def _stated(
    verbose_name: str, *, digits: int = 8, places: int = 2, least: str | None = "0.01"
) -> "models.DecimalField[Given | None, Decimal | None]":
    """A figure of the label, empty while it has not been read."""
    return models.DecimalField(
        verbose_name,
        max_digits=digits,
        decimal_places=places,
        validators=[] if least is None else [MinValueValidator(Decimal(least))],
        null=True,
        blank=True,
    )


class ResinKit(Tracked):
    """A two-part resin topcoat, with what a person read off its label.

    Whatever is empty has not been checked. The ratio is never guessed: without it nothing can be
    coated. Other figures are taken from `pricing.techniques.GUESSES` while they are empty.
    """

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
    ratio_a = _stated("parts of A")
    ratio_b = _stated("parts of B")
    basis = models.CharField(max_length=6, choices=Basis, blank=True)
    film_mm = length_field("film (mm)", default=Decimal("1.6"))
    maximum_film_mm = _stated("thickest film in one pour (mm)")
    waste = fraction_field(default=Decimal("0.15"), help_text="Left in cups and run off the edge.")
    pot_life_minutes = _stated("pot life (minutes)")
    pot_life_c = _stated("at (°C)", digits=4, places=1, least=None)
    pot_life_mass_g = _stated("in a cup of (g)")
    recoat_from_hours = _stated("recoat from (hours)")
    recoat_to_hours = _stated("recoat until (hours)")
    handle_hours = _stated("handle after (hours)")
    cure_hours = _stated("full cure (hours)")
    room_from_c = _stated("room from (°C)", digits=4, places=1, least=None)
    room_to_c = _stated("room up to (°C)", digits=4, places=1, least=None)
    heat_limit_c = _stated("stated heat limit (°C)", digits=5, places=1, least=None)
    archived_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "name"], name="resin_kit_name_once"),
            models.CheckConstraint(
                name="resin_kit_ratio_is_whole",
                condition=models.Q(ratio_a__isnull=True, ratio_b__isnull=True, basis="")
                | models.Q(ratio_a__isnull=False, ratio_b__isnull=False) & ~models.Q(basis=""),
            ),
        ]

    @property
    def has_ratio(self) -> bool:
        """Whether its ratio has been read, without which nothing is coated with it."""
        return bool(self.basis and self.ratio_a and self.ratio_b)

    @property
    def never_checked(self) -> bool:
        """Whether it still has every figure that kits were once filled in with."""
        return all(getattr(self, name) == value for name, value in ONCE_FILLED_IN.items())

    @property
    def unchecked(self) -> frozenset[str]:
        """The names of the figures that nobody has read off its label."""
        empty = {name for name in (*FIGURES, "heat_limit_c") if getattr(self, name) is None}
        return frozenset(empty | set(ONCE_FILLED_IN if self.never_checked else ()))

    @property
    def takes_hot_cups(self) -> bool:
        """Whether its maker states that it takes a hot cup."""
        return takes_hot_cups(self.heat_limit_c)

    def taken(self, name: str) -> Decimal:
        """Return a figure of its label, or the cautious one that is taken while it is empty."""
        given: Decimal | None = getattr(self, name)
        return GUESSES[name] if given is None else given

    def __str__(self) -> str:
        return self.name
