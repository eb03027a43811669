"""The outbox: mails that were written, until they are sent and for a while after."""

from email.utils import make_msgid, parseaddr

from django.conf import settings
from django.db import models
from django.utils import timezone

from studio.modelfields import EmailField, LineField, LinesField, MomentField, SmallWholeField
from studio.models.studio import Studio


def new_message_id() -> str:
    """Return an identifier that no other mail has (RFC 5322, section 3.6.4)."""
    _, sender = parseaddr(settings.DEFAULT_FROM_EMAIL)
    return make_msgid(domain=sender.partition("@")[2] or "localhost")


class Mail(models.Model):
    """One mail to one person. What it says is forgotten once it was sent.

    ``claimed_at`` is when a worker set out to send it, ``try_at`` from when on it may be sent;
    without a ``try_at`` it was sent at ``sent_at``, or given up.
    """

    class About(models.TextChoices):
        ALERTS = "alerts", "What is new about stock and prices"
        ANSWER = "answer", "A customer's answer"
        PASSWORD = "password", "A new password"
        SITE = "site", "The state of the site"

    studio = models.ForeignKey(
        Studio, on_delete=models.CASCADE, null=True, blank=True, related_name="mails"
    )
    about = models.CharField(max_length=10, choices=About.choices)
    to = EmailField(max_length=254)
    subject = LineField(max_length=300)
    text = LinesField(blank=True)
    html = LinesField(blank=True)
    message_id = models.CharField(max_length=255, unique=True, default=new_message_id)
    written_at = MomentField(default=timezone.now)
    try_at = MomentField(null=True, blank=True, default=timezone.now, db_index=True)
    claimed_at = MomentField(null=True, blank=True)
    tries = SmallWholeField(default=0)
    sent_at = MomentField(null=True, blank=True)
    problem = LinesField(blank=True, help_text="What the mail server said, or why none was found.")

    class Meta:
        ordering = ["-written_at", "-pk"]

    def __str__(self) -> str:
        return self.subject
