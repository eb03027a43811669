"""Pours as they really went, and the pieces that came of them."""

from decimal import Decimal
from typing import Self, TypeVar

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from inventory.models import Entry
from inventory.models.fields import value_field
from pricing.models.commission import CommissionLine
from pricing.models.cost import Costed
from pricing.models.fields import InRoom, Worked, volume_field
from pricing.models.moved import Moved
from pricing.models.palette import Palette
from pricing.models.shapes import validate_poured
from pricing.models.surface import SavedSurface
from pricing.models.technique import Technique, base_field
from pricing.models.topcoat import ResinKit
from studio.modelfields import (
    JSONField,
    LineField,
    LinesField,
    MomentField,
    SmallWholeField,
    WholeField,
)
from studio.models import Studio, Tracked, Tracking
from studio.money import ZERO

Act = TypeVar("Act", "Pour", "Topcoating")


class ActQuerySet(models.QuerySet[Act]):
    """Work at the bench whose stock movements may have been reversed."""

    def standing(self) -> Self:
        """Leave out what was undone."""
        return self.filter(entry__reversed_by=None)


class PourQuerySet(Tracking, ActQuerySet[Act]):
    def to_learn_from(self) -> Self:
        """Pours that the estimates learn from."""
        return self.standing().filter(set_aside="")


class Pour(Worked, InRoom, Moved, Tracked):
    """One session at the bench: the same technique and palette on some pieces of one size."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="pours")
    number = WholeField()
    line = models.ForeignKey(
        CommissionLine, on_delete=models.PROTECT, null=True, blank=True, related_name="pours"
    )
    surface = models.ForeignKey(SavedSurface, on_delete=models.PROTECT, related_name="pours")
    technique = models.ForeignKey(Technique, on_delete=models.PROTECT, related_name="pours")
    palette = models.ForeignKey(Palette, on_delete=models.PROTECT, related_name="pours")
    count = SmallWholeField(
        "pieces poured", default=1, validators=[MinValueValidator(1), MaxValueValidator(200)]
    )
    good_count = SmallWholeField(
        "pieces not failed as paint",
        default=1,
        help_text="All of them until they are judged; those that resin spoils later count here.",
    )
    judged_count = SmallWholeField("pieces judged", default=0)
    poured_at = MomentField()
    faults = LineField(max_length=200, blank=True)
    notes = LinesField(blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="pour")
    set_aside = LineField(
        max_length=200, blank=True, help_text="Why the estimates should not learn from this pour."
    )

    base = base_field()
    rule_ml = volume_field(
        "what 1 fl oz on 25 in² would have been (mL)",
        null=True,
        blank=True,
        help_text="For all pieces, faces and painted sides, when it was logged.",
    )
    amounts_are_right = models.BooleanField(
        default=False, help_text="Whether somebody said so when it lay far off the forecast."
    )

    objects = PourQuerySet.as_manager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "number"], name="pour_number_once"),
            models.CheckConstraint(
                condition=Q(good_count__lte=F("count")), name="pour_not_more_good_than_poured"
            ),
            models.CheckConstraint(
                condition=Q(judged_count__lte=F("count")), name="pour_not_more_judged_than_poured"
            ),
        ]
        indexes = [
            models.Index(fields=["studio", "poured_at"]),
            models.Index(fields=["studio", "changed_at"]),
        ]

    def __str__(self) -> str:
        return f"Pour {self.number}"

    @property
    def poured_as(self) -> str:
        """Its technique, and the base it was poured over where that is told."""
        return self.technique.over(self.base)


class PourLayer(Tracked):
    """What one layer took, beside what was forecast before it. All pieces together, in mL."""

    part_of = "pour"

    class Layer(models.TextChoices):
        BASE = "base", "Base coat"
        COLOURS = "colours", "Colours"
        ACTIVATOR = "activator", "Cell activator"

    pour = models.ForeignKey(Pour, on_delete=models.CASCADE, related_name="layers")
    layer = models.CharField(max_length=9, choices=Layer)
    mixed_ml = volume_field("mixed (mL)")
    left_ml = volume_field("left in cups (mL)", default=ZERO)
    kept_ml = volume_field("run-off kept (mL)", default=ZERO)
    from_mixes_ml = volume_field("of it from bottles of mix (mL)", default=ZERO)
    took_value = value_field(
        "what it took off the shelf, in value",
        null=True,
        blank=True,
        help_text="Not known of pours logged before this was kept.",
    )
    forecast_low_ml = volume_field(null=True, blank=True)
    forecast_median_ml = volume_field(null=True, blank=True)
    forecast_high_ml = volume_field(null=True, blank=True)
    mixes = JSONField(
        default=list,
        blank=True,
        validators=[validate_poured],
        help_text="The mixes as they were. Not known of pours logged before they were kept.",
    )
    scaled_ml = volume_field(
        null=True,
        blank=True,
        help_text="What the pour nearest in size, scaled by area, would have said before it.",
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["pour", "layer"], name="pour_layer_once"),
            models.CheckConstraint(
                condition=Q(left_ml__lte=F("mixed_ml")), name="pour_layer_left_is_part_of_mixed"
            ),
            models.CheckConstraint(
                condition=Q(from_mixes_ml__lte=F("mixed_ml")),
                name="pour_layer_mixes_are_part_of_mixed",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_layer_display()} of {self.pour}"

    @property
    def poured_ml(self) -> Decimal:
        """What went onto the pieces, run-off included, in mL."""
        return self.mixed_ml - self.left_ml

    @property
    def fell_inside(self) -> bool | None:
        """Whether what was poured lay within its range; None where nothing was forecast."""
        if self.forecast_low_ml is None or self.forecast_high_ml is None:
            return None
        return self.forecast_low_ml <= self.poured_ml <= self.forecast_high_ml

    @property
    def forecast_error(self) -> float | None:
        """How far the median was off, as a share of what was poured, with its sign, [-]."""
        if self.forecast_median_ml is None:
            return None
        return float(self.forecast_median_ml) / float(self.poured_ml) - 1


class Topcoating(Worked, InRoom):
    """Resin poured over the good pieces of a pour."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="topcoatings")
    pour = models.ForeignKey(Pour, on_delete=models.PROTECT, related_name="topcoatings")
    kit = models.ForeignKey(ResinKit, on_delete=models.PROTECT, related_name="topcoatings")
    mixed_ml = volume_field("resin mixed (mL)")
    coated_at = MomentField()
    spoiled_count = SmallWholeField("pieces spoiled", default=0)
    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="topcoating")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = ActQuerySet["Topcoating"].as_manager()

    class Meta:
        ordering = ["-coated_at", "-pk"]

    def __str__(self) -> str:
        return f"Topcoat of {self.pour}"


class PieceQuerySet(Tracking, models.QuerySet["FinishedPiece"]):
    def to_pack(self) -> Self:
        """Good pieces that are in no set; a test tile is not packed."""
        loose = self.filter(state=FinishedPiece.State.GOOD, piece_set=None)
        return loose.filter(Q(pour__line=None) | Q(pour__line__is_test=False))


class FinishedPiece(Costed, Tracked):
    """One piece of a pour. It counts as good until it is judged, see `Judgement`."""

    class Verdict(models.TextChoices):
        GOOD = "good", "Good"
        SECOND = "second", "Sellable as second"
        FAILED = "failed", "Failed"

    class State(models.TextChoices):
        GOOD = "good", "Good"
        FAILED = "failed", "Failed"
        UNDONE = "undone", "Pour undone"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="pieces")
    pour = models.ForeignKey(Pour, on_delete=models.PROTECT, related_name="pieces")
    number = SmallWholeField(help_text="Counted within its pour.")
    state = models.CharField(max_length=6, choices=State, default=State.GOOD)
    verdict = models.CharField(
        max_length=6,
        choices=Verdict,
        blank=True,
        default="",
        help_text="As judged last; empty until it is judged.",
    )
    piece_set = models.ForeignKey(
        "pricing.PieceSet", on_delete=models.PROTECT, null=True, blank=True, related_name="pieces"
    )

    spoiled_by = models.ForeignKey(
        Topcoating, on_delete=models.SET_NULL, null=True, blank=True, related_name="spoiled"
    )
    recovery = models.ForeignKey(
        Entry,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="recovered_pieces",
        help_text="What brought its surface back to the shelf, once it was wiped.",
    )

    objects = PieceQuerySet.as_manager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["pour", "number"]
        constraints = [
            models.UniqueConstraint(fields=["pour", "number"], name="piece_number_once"),
            models.CheckConstraint(
                condition=Q(state="good") | Q(piece_set=None), name="piece_failed_is_in_no_set"
            ),
            models.CheckConstraint(
                condition=Q(state="undone")
                | Q(state="failed", verdict="failed")
                | Q(state="good") & ~Q(verdict="failed"),
                name="piece_failed_is_judged_so",
            ),
            models.CheckConstraint(
                condition=Q(state="failed") | Q(recovery=None), name="piece_recovered_has_failed"
            ),
        ]
        indexes = [
            models.Index(
                fields=["studio"], condition=Q(state="good", piece_set=None), name="piece_loose"
            )
        ]

    def __str__(self) -> str:
        return f"Piece {self.number} of {self.pour}"
