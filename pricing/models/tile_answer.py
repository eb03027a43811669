"""What customers say of their test tiles: whether the colours are right."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from pricing.models.pour import Pour
from studio.modelfields import LineField, MomentField
from studio.models import Studio, Tracked


class TileAnswer(Tracked):
    """A customer's answer to one pour of a test tile; another pour of it has its own.

    It stays when the pour is undone: it was said.
    """

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="tile_answers")
    pour = models.OneToOneField(Pour, on_delete=models.PROTECT, related_name="tile_answer")
    accepted = models.BooleanField("the colours are right")
    note = LineField(max_length=300, blank=True)
    name = LineField("answered by", max_length=120)
    answered_at = MomentField(default=timezone.now)
    by_link = models.BooleanField(
        default=False, help_text="The customer answered, by their private link."
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-answered_at", "-pk"]

    def __str__(self) -> str:
        return f"Answer to the test tile of {self.pour}"

    @property
    def words(self) -> str:
        """What was answered: “Yes, like this” or “Not quite”."""
        return "Yes, like this" if self.accepted else "Not quite"
