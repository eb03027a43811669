"""What somebody asked for that takes longer than a page may: how far it is, and what came of it."""

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils import timezone

from studio.modelfields import (
    JSONField,
    LineField,
    LinesField,
    MomentField,
    SmallWholeField,
    WholeField,
)
from studio.models.studio import Studio

FOLDER = "background/"


class BackgroundTask(models.Model):
    """One such thing, for whoever asked for it. ``sent`` is a file they sent, until it is read."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="background_tasks")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=30)
    title = LineField(max_length=200)
    given = JSONField(default=dict, encoder=DjangoJSONEncoder)
    sent = models.FileField(upload_to=FOLDER, max_length=200, null=True, blank=True)
    asked_at = MomentField(default=timezone.now)
    tries = SmallWholeField(default=0)
    done_count = WholeField(default=0)
    of_count = WholeField(default=0, help_text="How many there are to do; 0 while nobody knows.")
    ended_at = MomentField(null=True, blank=True)
    problem = LinesField(blank=True)
    said = LineField(max_length=300, blank=True)
    leads_to = models.CharField(max_length=300, blank=True)
    file = models.FileField(upload_to=FOLDER, max_length=200, null=True, blank=True)
    file_name = LineField(max_length=200, blank=True)

    class Meta:
        ordering = ["-asked_at", "-pk"]

    def __str__(self) -> str:
        return self.title

    @property
    def share_done(self) -> int | None:
        """How far it is, in whole percent, or None while nobody knows."""
        return min(100 * self.done_count // self.of_count, 100) if self.of_count else None
