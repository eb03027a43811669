"""The daily mail of alerts: one to each member who wants it, and only when there is news.

What a member was told is stored in the transaction that puts the mail in the outbox, so neither
happens without the other; the outbox sees to it that it arrives. The worker writes to each studio
in its own morning.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Q, QuerySet
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django_tasks import task

from inventory.buying.alerts import Alert, alerts
from inventory.models import AlertMail, AlertNotice
from studio import jobs, outbox
from studio.models import Mail, Membership, Studio
from studio.models.people import Role
from studio.sight import PROFIT
from studio.text import shortened

MORNING = time(6, 30)  # on the studio's own clock
SUBJECT_LENGTH = 78  # RFC 5322, section 2.1.1


@dataclass(frozen=True)
class Digest:
    """The content of one member's mail: alerts that are new or worse, unchanged, and over."""

    membership: Membership
    news: tuple[Alert, ...]
    still: tuple[Alert, ...]
    over: tuple[str, ...]

    @property
    def subject(self) -> str:
        """The subject of the mail, in one line."""
        first = f"{self.membership.studio}: {self.news[0].title}"
        more = f" and {len(self.news) - 1} more" if len(self.news) > 1 else ""
        return shortened(" ".join(first.split()), SUBJECT_LENGTH - len(more)) + more

    @property
    def text(self) -> str:
        """The mail as plain text."""
        return render_to_string("inventory/buying/mail/alerts.txt", self._context())

    @property
    def html(self) -> str:
        """The same as HTML."""
        return render_to_string("inventory/buying/mail/alerts.html", self._context())

    def _context(self) -> dict[str, Any]:
        return {"digest": self, "site": settings.SITE_URL, "alerts_path": reverse("alerts")}


def choose_alert_mail(*, membership: Membership, wanted: bool) -> AlertMail:
    """Store whether a member wants the daily mail; returns the `AlertMail`."""
    mail, _ = AlertMail.objects.update_or_create(membership=membership, defaults={"wanted": wanted})
    return mail


def gets_alert_mail(membership: Membership) -> bool:
    """Tell whether a member gets the daily mail; owners do until they choose otherwise."""
    mail = AlertMail.objects.filter(membership=membership).first()
    return (mail or AlertMail(membership=membership)).goes_out


def recipients(studio: Studio | None = None) -> QuerySet[Membership]:
    """Return the members to write to, of one studio or of all, in the order they joined."""
    rows = Membership.objects.select_related("studio", "user").exclude(user__email="")
    if studio is not None:
        rows = rows.filter(studio=studio)
    chosen = Q(alert_mail__wanted=True)
    by_role = Q(alert_mail__wanted=None, role=Role.OWNER)
    return rows.filter(chosen | by_role, user__is_active=True).order_by("studio", "joined_at", "pk")


def news_for(membership: Membership) -> Digest:
    """Return the `Digest` of a member as it is now, and change nothing."""
    mail = AlertMail.objects.filter(membership=membership).first()
    return _digest(membership, mail, _alerts_of(membership))


def write_news(*, membership: Membership) -> Digest:
    """Put a mail to a member in the outbox if there is news; returns the `Digest`.

    Raises `outbox.NoMail` on a site that sends none; then nothing counts as told.
    """
    current = _alerts_of(membership)  # before anything is locked, since it takes a while
    with transaction.atomic():
        AlertMail.objects.get_or_create(membership=membership)
        mail = AlertMail.objects.select_for_update().get(membership=membership)
        digest = _digest(membership, mail, current)
        if digest.news:
            outbox.write(
                about=Mail.About.ALERTS,
                to=membership.user.email,
                subject=digest.subject,
                text=digest.text,
                html=digest.html,
                studio=membership.studio,
            )
        _remember(mail, digest)
    return digest


@task()
def write_morning_news(studio_id: int) -> None:
    """Write to the members of a studio who want it, if it is still there."""
    studio = Studio.objects.filter(pk=studio_id, restoring=None).first()
    for membership in recipients(studio) if studio else ():
        write_news(membership=membership)


def put_in_line_if_due() -> None:
    """Have each studio written to once its morning has come."""
    if not settings.SENDS_MAIL:
        return
    mornings = {
        (studio.pk,): datetime.combine(studio.today(), MORNING, studio.zone)
        for studio in Studio.objects.filter(restoring=None)
    }
    now = timezone.now()
    jobs.enqueue_daily(write_morning_news, {args: at for args, at in mornings.items() if at <= now})


def _alerts_of(membership: Membership) -> list[Alert]:
    return alerts(membership.studio, with_money=membership.sees(PROFIT))


def _digest(membership: Membership, mail: AlertMail | None, current: Iterable[Alert]) -> Digest:
    notices = {one.fingerprint: one for one in mail.notices.all()} if mail else {}
    news: list[Alert] = []
    still: list[Alert] = []
    for alert in current:
        notice = notices.pop(alert.fingerprint, None)
        is_new = notice is None or notice.resolved_at or alert.severity > notice.severity
        (news if is_new else still).append(alert)
    over = sorted(one.title for one in notices.values())
    return Digest(membership, tuple(news), tuple(still), tuple(over))


@transaction.atomic
def _remember(mail: AlertMail, digest: Digest) -> None:
    """Store which alerts the mail told of; those that are over go once a mail has said so."""
    now = timezone.now()
    lasting = [alert.fingerprint for alert in (*digest.news, *digest.still)]
    past_notices = mail.notices.exclude(fingerprint__in=lasting)
    if digest.news:
        past_notices.delete()
    else:
        past_notices.filter(resolved_at=None).update(resolved_at=now)
    for rows, told_now in ((digest.news, ["told_at"]), (digest.still, [])):
        AlertNotice.objects.bulk_create(
            [_notice(mail, alert, now) for alert in rows],
            update_conflicts=True,
            unique_fields=["mail", "fingerprint"],
            update_fields=["severity", "title", "resolved_at", *told_now],
        )


def _notice(mail: AlertMail, alert: Alert, now: datetime) -> AlertNotice:
    return AlertNotice(
        mail=mail,
        fingerprint=alert.fingerprint,
        severity=alert.severity,
        title=shortened(alert.title, 300),
        told_at=now,
    )
