"""Backups that were made, for whoever asks when the last good one was."""

from django.db import models
from django.utils import timezone

from studio.modelfields import LineField, LinesField, MomentField, WholeField


class Backup(models.Model):
    """One backup of the whole database: where it lies, and whether it was proved to come back."""

    made_at = MomentField(default=timezone.now)
    name = LineField(max_length=200, unique=True)
    size_kb = WholeField("size (kB)", default=0)
    checked_at = MomentField(null=True, blank=True)
    problem = LinesField(
        blank=True, help_text="What went wrong as it was made or brought back for a trial."
    )

    class Meta:
        ordering = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return self.name
