"""Paired tests: two tiles from the same cups, one change, and by lot which of them gets it."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from pricing.models.judgement import rating_field
from pricing.models.moved import Moved
from pricing.models.palette import Palette
from pricing.models.pour import FinishedPiece
from pricing.models.surface import SavedSurface
from pricing.models.technique import Technique, base_field
from studio.modelfields import MomentField, SmallWholeField, WholeField
from studio.models import Studio, Tracked

Move, Heat = Moved.Move, Moved.Heat


class PairedTest(Tracked):
    """One pair. Pairs of one change, technique, palette and size are read together.

    Which tile got the change is told to whoever pours it until the pour is logged, and then to
    nobody until both tiles are rated and it is revealed.
    """

    class Change(models.TextChoices):
        """What one tile gets and the other does not: common practice, no source."""

        # As the log of a pour calls them.
        TILT = Move.TILT.value, Move.TILT.label
        BLOW = Move.BLOW.value, Move.BLOW.label
        SPIN = Move.SPIN.value, Move.SPIN.label
        STRING = Move.STRING.value, Move.STRING.label
        STRAW = Move.STRAW.value, Move.STRAW.label
        DRYER = Move.DRYER.value, Move.DRYER.label
        TORCH = Heat.TORCH.value, Heat.TORCH.label
        HEAT_GUN = Heat.HEAT_GUN.value, Heat.HEAT_GUN.label
        COVER = "cover", "Covered while it dries"
        REST = "rest", "Longer rest before it is moved"

    class Better(models.TextChoices):
        FIRST = "first", "Tile 1"
        SECOND = "second", "Tile 2"
        ALIKE = "alike", "Alike"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="paired_tests")
    number = WholeField()
    change = models.CharField("the one change", max_length=8, choices=Change)
    technique = models.ForeignKey(Technique, on_delete=models.PROTECT, related_name="paired_tests")
    base = base_field()
    palette = models.ForeignKey(Palette, on_delete=models.PROTECT, related_name="paired_tests")
    surface = models.ForeignKey(SavedSurface, on_delete=models.PROTECT, related_name="paired_tests")
    changed_tile = SmallWholeField(
        "which tile gets the change, by lot",
        validators=[MinValueValidator(1), MaxValueValidator(2)],
    )
    drawn_at = MomentField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    first = models.OneToOneField(
        FinishedPiece, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    second = models.OneToOneField(
        FinishedPiece, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    first_rating = rating_field("tile 1")
    second_rating = rating_field("tile 2")
    better = models.CharField(
        max_length=6,
        choices=Better,
        blank=True,
        default="",
        help_text="Of two that are rated the same.",
    )
    rated_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    revealed_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "number"], name="paired_test_number_once"),
            models.CheckConstraint(
                condition=Q(first=None, second=None)
                | Q(first__isnull=False, second__isnull=False) & ~Q(first=models.F("second")),
                name="paired_test_of_two_pieces",
            ),
            models.CheckConstraint(
                condition=Q(first__isnull=False) | Q(first_rating=None, second_rating=None),
                name="paired_test_rated_once_poured",
            ),
            models.CheckConstraint(
                condition=Q(revealed_at=None)
                | Q(first_rating__isnull=False, second_rating__isnull=False),
                name="paired_test_revealed_once_rated",
            ),
        ]

    def __str__(self) -> str:
        return f"Pair {self.number}"

    @property
    def is_poured(self) -> bool:
        """Whether its tiles are pieces of a pour by now."""
        return self.first_id is not None

    @property
    def is_rated(self) -> bool:
        """Whether both tiles are rated."""
        return self.first_rating is not None and self.second_rating is not None

    @property
    def outcome(self) -> int | None:
        """1 where the tile with the change is better, -1 worse, 0 alike; None until revealed."""
        if self.revealed_at is None or self.first_rating is None or self.second_rating is None:
            return None
        ahead = self.first_rating - self.second_rating
        if not ahead:
            ahead = (self.better == self.Better.FIRST) - (self.better == self.Better.SECOND)
        side = 1 if self.changed_tile == 1 else -1
        return side * ((ahead > 0) - (ahead < 0))
