"""Pictures of what is wanted, and of what came out."""

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from pricing.models.commission import Commission
from pricing.models.pour import FinishedPiece, Pour
from pricing.models.sale import PieceSet
from studio.modelfields import LineField, MomentField, SmallWholeField, WholeField
from studio.models import Studio, Tracked, TrackedQuerySet


class PictureManager(models.Manager["Picture"]):
    """Rows without the bytes of their pictures, which are read one at a time."""

    _queryset_class = TrackedQuerySet

    def get_queryset(self) -> models.QuerySet["Picture"]:
        return super().get_queryset().defer("full", "small")


class Picture(Tracked):
    """One picture of one commission, pour, piece or set, as two JPEGs.

    The bytes are kept with the rows, so that a picture is there exactly when its row is, goes into
    the same backup, and is served by any machine that reaches the database.
    """

    class Kind(models.TextChoices):
        LIKE = "like", "Like this one"
        COLOURS = "colours", "Colours"
        PLACE = "place", "Where it goes"
        SKETCH = "sketch", "Sketch"
        RESULT = "result", "What came out"
        FAULT = "fault", "A fault"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="pictures")
    commission = models.ForeignKey(
        Commission, on_delete=models.CASCADE, null=True, blank=True, related_name="pictures"
    )
    pour = models.ForeignKey(
        Pour, on_delete=models.CASCADE, null=True, blank=True, related_name="pictures"
    )
    piece = models.ForeignKey(
        FinishedPiece, on_delete=models.CASCADE, null=True, blank=True, related_name="pictures"
    )
    piece_set = models.ForeignKey(
        PieceSet, on_delete=models.CASCADE, null=True, blank=True, related_name="pictures"
    )
    number = SmallWholeField(help_text="Counted within what it is a picture of.")
    kind = models.CharField("shows", max_length=7, choices=Kind)
    caption = LineField(max_length=200, blank=True)
    width = SmallWholeField("width (px)", validators=[MinValueValidator(1)])
    height = SmallWholeField("height (px)", validators=[MinValueValidator(1)])
    size_bytes = WholeField(validators=[MinValueValidator(1)])
    sha256 = models.CharField("SHA-256 of its bytes", max_length=64)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    added_at = MomentField(default=timezone.now)
    full = models.BinaryField()
    small = models.BinaryField()

    objects = PictureManager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["number", "pk"]
        constraints = [
            models.CheckConstraint(
                name="picture_of_one_thing",
                condition=Q(commission__isnull=False, pour=None, piece=None, piece_set=None)
                | Q(commission=None, pour__isnull=False, piece=None, piece_set=None)
                | Q(commission=None, pour=None, piece__isnull=False, piece_set=None)
                | Q(commission=None, pour=None, piece=None, piece_set__isnull=False),
            ),
            *(
                models.UniqueConstraint(fields=[thing, "number"], name=f"{thing}_picture_once")
                for thing in ("commission", "pour", "piece", "piece_set")
            ),
        ]

    def __str__(self) -> str:
        return f"Picture {self.number} of {self.thing_name}"

    @property
    def thing(self) -> Commission | Pour | FinishedPiece | PieceSet:
        """What it is a picture of."""
        thing = self.commission or self.pour or self.piece or self.piece_set
        assert thing is not None  # the database keeps no picture of nothing
        return thing

    @property
    def thing_name(self) -> str:
        """“Commission 3”, “Pour 12”, “Piece 2 of Pour 12” or “Set 7”."""
        if self.piece:
            return str(self.piece)
        return f"{str(type(self.thing)._meta.verbose_name).split()[-1].title()} {self.thing.number}"

    @property
    def alt(self) -> str:
        """What is read out in its place."""
        return self.caption or str(self)
