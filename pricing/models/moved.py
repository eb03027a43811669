"""How a pour was moved, heated, rested and covered. What is not noted is not known, never “no”."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from studio.modelfields import LineField
from studio.units.numerals import trimmed

MOST_REST = Decimal("999.9")
NOT_NOTED = "not noted"


class Moved(models.Model):
    """What was done to a pour once the paint lay; the same for all its pieces."""

    class Move(models.TextChoices):
        """Ways of moving paint as makers name them: common practice, no source."""

        TILT = "tilt", "Tilted"
        BLOW = "blow", "Blown"
        SPIN = "spin", "Spun"
        STRING = "string", "String"
        STRAW = "straw", "Straw"
        DRYER = "dryer", "Dryer"
        NONE = "none", "Not moved"

    class Heat(models.TextChoices):
        NONE = "none", "No heat"
        TORCH = "torch", "Torch"
        HEAT_GUN = "heat_gun", "Heat gun"

    moves = LineField(
        max_length=60,
        blank=True,
        default="",
        help_text="Codes with a space between, or “none”; empty where nobody said.",
    )
    heat = models.CharField(max_length=8, choices=Heat, blank=True, default="")
    rest_minutes = models.DecimalField(
        "rest before it was moved (minutes)",
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(MOST_REST)],
    )
    was_covered = models.BooleanField("covered while it dried", null=True, blank=True)

    class Meta:
        abstract = True

    @property
    def move_codes(self) -> tuple[str, ...]:
        """The codes of how it was moved: (“none”,) where it was not, () where nobody said."""
        return tuple(self.moves.split())

    @property
    def is_noted(self) -> bool:
        """Whether any of it is known."""
        told = self.moves or self.heat or self.rest_minutes is not None
        return bool(told) or self.was_covered is not None

    @property
    def moved_facts(self) -> list[tuple[str, str]]:
        """What is known, in words, as (label, what was noted) pairs; all of them every time."""
        names = dict(self.Move.choices)
        moves = [str(names.get(code, code)) for code in self.move_codes]
        rest = "" if self.rest_minutes is None else f"{trimmed(self.rest_minutes)} min"
        cover = {True: "Yes", False: "No", None: ""}[self.was_covered]
        told = (
            ("Moved", ", ".join(moves)),
            ("Heat", dict(self.Heat.choices).get(self.heat, self.heat)),
            ("Rest before", rest),
            ("Covered", cover),
        )
        return [(label, str(words) or NOT_NOTED) for label, words in told]
