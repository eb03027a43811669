"""Changes of the costing method, each from a day on."""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from inventory.models.movement import Entry
from studio.modelfields import DayField, MomentField
from studio.models import Studio, Tracked, Tracking


class CostingChangeQuerySet(Tracking, models.QuerySet["CostingChange"]):
    def standing(self) -> Self:
        """Changes that took effect or wait for their day."""
        return self.filter(withdrawn_at=None)

    def waiting(self) -> Self:
        """Changes that wait for their day, or for the first act on the stock from it on."""
        return self.standing().filter(took_effect_at=None)


class CostingChange(Tracked):
    """From a day on, stock is costed by another method; what was posted before stays as it was.

    ``entry`` brought the bottles level as the moving average took effect, where any had to be.
    """

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="costing_changes")
    before = models.CharField(max_length=14, choices=Studio.Costing)
    method = models.CharField(max_length=14, choices=Studio.Costing)
    from_day = DayField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    recorded_at = MomentField(default=timezone.now)
    took_effect_at = MomentField(null=True, blank=True)
    withdrawn_at = MomentField(null=True, blank=True)
    entry = models.OneToOneField(
        Entry, on_delete=models.PROTECT, null=True, blank=True, related_name="costing_change"
    )

    objects = CostingChangeQuerySet.as_manager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["-from_day", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio"],
                condition=Q(took_effect_at=None, withdrawn_at=None),
                name="costing_change_one_waiting",
            ),
            models.CheckConstraint(
                condition=~Q(before=F("method")), name="costing_change_is_a_change"
            ),
            models.CheckConstraint(
                condition=Q(took_effect_at=None) | Q(withdrawn_at=None),
                name="costing_change_withdrawn_only_while_it_waits",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_method_display()} from {self.from_day}"

    @property
    def is_waiting(self) -> bool:
        """Whether it is still to take effect."""
        return self.took_effect_at is None and self.withdrawn_at is None
