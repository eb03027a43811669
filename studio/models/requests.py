"""What the API remembers: tokens and the answers to writes already done."""

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils import timezone
from knox.models import AbstractAuthToken

from studio.modelfields import JSONField, LineField, MomentField, SmallWholeField
from studio.models.studio import Studio
from studio.sight import Sight

EVERY_SIGHT = " ".join(Sight)


class ApiToken(AbstractAuthToken):
    """A key to one studio, held by one member. Only its digest is stored."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="api_tokens")
    label = LineField(max_length=60, help_text="What this token is for.")

    class Meta:
        ordering = ["-created"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "label"], name="api_token_label_once")
        ]

    def __str__(self) -> str:
        return self.label


class IdempotencyRecord(models.Model):
    """The answer given to a write, so that sending it again repeats the answer and not the act.

    ``sights`` are the kinds of knowledge of whom it was given to, which may stand in it.
    """

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="idempotency_records")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=80)
    method_and_path = models.CharField(max_length=300)
    body_digest = models.CharField(max_length=64)
    status = SmallWholeField(null=True)
    answer = JSONField(null=True, encoder=DjangoJSONEncoder)
    sights = models.CharField(max_length=60, blank=True, default=EVERY_SIGHT)
    created_at = MomentField(default=timezone.now)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["studio", "key"], name="idempotency_key_once")
        ]

    def __str__(self) -> str:
        return self.key
