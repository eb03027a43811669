"""How pieces came out: judged once their paint is dry, and again once they are coated."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from pricing.models.pour import FinishedPiece, Topcoating
from studio.modelfields import LineField, LinesField, MomentField, SmallWholeField
from studio.models import Tracked

LEAST, MOST = 1, 5


def rating_field(name: str) -> SmallWholeField:
    return SmallWholeField(
        name,
        null=True,
        blank=True,
        validators=[MinValueValidator(LEAST), MaxValueValidator(MOST)],
        help_text="From 1 to 5, 5 the best; empty where nobody said.",
    )


class Judgement(Tracked):
    """What was seen of one piece at one stage. What is not said is not known, never “no”."""

    part_of = "piece"

    class Stage(models.TextChoices):
        DRY = "dry", "Paint dry"
        COATED = "coated", "Coated"

    class Fault(models.TextChoices):
        """Faults as makers name them: common practice, no source."""

        CRAZING = "crazing", "Crazing"
        BARE_CORNER = "bare_corner", "Bare corner"
        MUDDY = "muddy", "Muddy"
        NO_CELLS = "no_cells", "No cells"
        CELLS_CLOSED = "cells_closed", "Cells closed"
        OVERBLOWN = "overblown", "Overblown"
        SLID = "slid", "Colour slid"
        PINHOLES = "pinholes", "Pinholes"
        DUST = "dust", "Dust"
        BUBBLES = "bubbles", "Bubbles"
        POOLING = "pooling", "Pooling"
        SOFT_SPOT = "soft_spot", "Soft spot"
        DRIP = "drip", "Drip"
        DENT = "dent", "Dent"
        CUP_RING = "cup_ring", "Ring of a cup"
        FISH_EYES = "fish_eyes", "Fish eyes"

    OF_PAINT = tuple(Fault)[:11]
    OF_RESIN = (*tuple(Fault)[11:], Fault.PINHOLES, Fault.DUST, Fault.BUBBLES)

    piece = models.ForeignKey(FinishedPiece, on_delete=models.CASCADE, related_name="judgements")
    stage = models.CharField(max_length=6, choices=Stage)
    coat = models.ForeignKey(
        Topcoating, on_delete=models.PROTECT, null=True, blank=True, related_name="judgements"
    )
    verdict = models.CharField(max_length=6, choices=FinishedPiece.Verdict)
    faults = LineField(max_length=200, blank=True, help_text="Their codes, with a space between.")
    cells = rating_field("cells")
    composition = rating_field("composition")
    note = LinesField(blank=True)
    judged_at = MomentField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    class Meta:
        ordering = ["judged_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["piece", "stage"], name="piece_judged_once_a_stage"),
            models.CheckConstraint(
                condition=Q(stage="dry", coat=None) | Q(stage="coated", coat__isnull=False),
                name="judgement_of_coated_names_the_coat",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece}, {self.get_stage_display().lower()}"

    @property
    def fault_codes(self) -> tuple[str, ...]:
        """The codes of its faults."""
        return tuple(self.faults.split())

    @property
    def fault_names(self) -> list[str]:
        """What its faults are called; an unknown code, of a later archive, is shown as it is."""
        names = dict(self.Fault.choices)
        return [str(names.get(code, code)) for code in self.fault_codes]


def faults_of(stage: str) -> tuple[Judgement.Fault, ...]:
    """Return the faults that are offered at a stage."""
    return Judgement.OF_PAINT if stage == Judgement.Stage.DRY else Judgement.OF_RESIN
