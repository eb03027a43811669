"""Which months of a studio are closed: what was given to the bookkeeper stays as it was."""

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from studio.modelfields import DayField, JSONField, LineField, MomentField
from studio.models.append_only import AppendOnly, AppendOnlyQuerySet
from studio.models.studio import Studio
from studio.shapes import list_of, text

MOST_ROWS, MOST_CELLS = 100_000, 20


def validate_rows(value: Any) -> None:
    """Refuse what is no table of texts."""
    list_of(list_of(text, MOST_CELLS), MOST_ROWS)(value, "")


class ClosingQuerySet(AppendOnlyQuerySet):
    def standing(self) -> "ClosingQuerySet":
        """Closings that nobody opened again."""
        return self.filter(reopens=None, reopened_by=None)


class Closing(AppendOnly):
    """The closing of all months up to a day, or the reopening of one. Rows are only ever added."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="closings")
    up_to = DayField("closed up to", help_text="The last day of a month.")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    recorded_at = MomentField(default=timezone.now, editable=False)
    reopens = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reopened_by"
    )
    why = LineField(max_length=200, blank=True, help_text="Why it was opened again.")
    stock_value = JSONField(
        default=list,
        blank=True,
        editable=False,
        validators=[validate_rows],
        help_text="What stock was worth at its end, as it was told on closing: rows of texts.",
    )

    objects = ClosingQuerySet.as_manager()  # type: ignore[misc]  # in place of the one that AppendOnly has

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="closing_reopened_for_a_reason", condition=Q(reopens=None) | ~Q(why="")
            )
        ]

    def __str__(self) -> str:
        return f"{'Reopened' if self.reopens_id else 'Closed'}: {self.month}"

    @property
    def month(self) -> str:
        """The last month that it is of, such as “May 2026”."""
        return f"{self.up_to:%B %Y}"
