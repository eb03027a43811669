"""The daily mail of alerts: who wants it, and what each was told."""

from django.db import models

from studio.modelfields import LineField, MomentField, SmallWholeField
from studio.models import Membership
from studio.models.people import Role


class AlertMail(models.Model):
    """The mail of one member of one studio.

    ``wanted`` is what they chose; until they choose, owners get it."""

    membership = models.OneToOneField(
        Membership, on_delete=models.CASCADE, related_name="alert_mail"
    )
    wanted = models.BooleanField(null=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"Alerts for {self.membership.user}"

    @property
    def goes_out(self) -> bool:
        """Whether the member gets the mail."""
        if self.wanted is None:
            return self.membership.role == Role.OWNER
        return self.wanted


class AlertNotice(models.Model):
    """One alert that a member was told of, as long as it lasts.

    ``fingerprint`` names what it is about and no figures, which drift from day to day;
    ``severity`` is how bad it was, so that only what is worse is told again. ``resolved_at`` is set
    when it is over and the member was not told so yet.
    """

    mail = models.ForeignKey(AlertMail, on_delete=models.CASCADE, related_name="notices")
    fingerprint = LineField(max_length=200)
    severity = SmallWholeField()
    title = LineField(max_length=300)
    told_at = MomentField()
    resolved_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["told_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["mail", "fingerprint"], name="alert_notice_once_per_member"
            )
        ]

    def __str__(self) -> str:
        return self.title
