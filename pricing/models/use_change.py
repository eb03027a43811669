"""What sets were said to be for before somebody put it right."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from pricing.fitness import purpose
from pricing.models.sale import PieceSet
from pricing.models.use import use_field
from studio.modelfields import LineField, MomentField
from studio.models import Tracked


class UseChange(Tracked):
    """One change of what a packed set is for; what is empty was not said."""

    part_of = "piece_set"

    piece_set = models.ForeignKey(PieceSet, on_delete=models.CASCADE, related_name="use_changes")
    was = use_field("what it was for")
    use = use_field()
    why = LineField(max_length=200, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = MomentField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.piece_set.label}, {self.was_for or 'not said'} until then"

    @property
    def was_for(self) -> str:
        """What it was for, in words; empty where it was not said."""
        return purpose(self.was)
