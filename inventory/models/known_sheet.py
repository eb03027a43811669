"""How the columns of a sheet were matched, kept for the next one with the same headings."""

from django.db import models
from django.utils import timezone

from studio.modelfields import JSONField, MomentField
from studio.models import Studio


class KnownSheet(models.Model):
    """The headings of a sheet that was brought in, what each column was, and what was answered."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="known_sheets")
    digest = models.CharField(max_length=64)
    headings = JSONField()
    columns = JSONField(help_text="What each column holds, by its place.")
    answers = JSONField(default=dict, blank=True)
    used_at = MomentField(default=timezone.now)

    class Meta:
        ordering = ["-used_at"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "digest"], name="known_sheet_once")
        ]

    def __str__(self) -> str:
        return ", ".join(filter(None, self.headings))
