"""The outbox: mails are written with what they tell, in one transaction, and sent by the worker.

A mail goes out once, but for a worker that dies between sending and noting it: then it goes out
again under the same Message-ID, by which mail programs know that it is the same. No lock is held
while the mail server is spoken to.
"""

import smtplib
from datetime import datetime, timedelta
from email.utils import format_datetime

from django.conf import settings
from django.core.mail import EmailMultiAlternatives, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone
from django_tasks import task

from studio import jobs
from studio.errors import StudioError
from studio.models import Mail, Studio
from studio.site import is_only_here

# How many a job sends before another goes on; each may take as long as the server is waited for.
BATCH = 50
# Longer than any mail takes that is sent, shorter than anybody waits for one.
CLAIM_LAPSES_AFTER = timedelta(minutes=5)
# After so long it is tried again, the first time; then after twice as long, up to the longest.
# RFC 5321, section 4.5.4.1, has relays wait for 30 minutes, longer from time to time, and give up
# after 4 to 5 days. This asks a mail server of one's own, so it begins sooner.
FIRST_WAIT, LONGEST_WAIT = timedelta(minutes=2), timedelta(hours=2)
GIVEN_UP_AFTER = timedelta(days=5)
KEPT = timedelta(days=30)
ONLY_HERE = "The links in this mail open only on the computer that Pourwright runs on."


class NoMail(StudioError):
    """No mail server is known, so a mail would wait for good."""

    code = "no_mail"


def see_that_mail_goes_out() -> None:
    """Refuse, with `NoMail`, on a site that sends none."""
    if not settings.SENDS_MAIL:
        raise NoMail("This site sends no mail. Whoever runs it has to set EMAIL_URL first.")


@transaction.atomic
def write(
    *, about: str, to: str, subject: str, text: str, html: str = "", studio: Studio | None = None
) -> Mail:
    """Put a mail in the outbox, to be sent once what is being written is committed.

    Parameters
    ----------
    about : str
        What it is about, one of `Mail.About`
    to : str
        One address
    subject, text, html : str
        What it says; a subject of several lines becomes one
    studio : Studio, optional
        Whose owners see how it fares

    Raises
    ------
    NoMail
        On a site that sends none; ask `settings.SENDS_MAIL` before, where the mail is no must
    """
    see_that_mail_goes_out()
    if is_only_here() and settings.SITE_URL in text:
        text = f"{text.rstrip()}\n\n{ONLY_HERE}\n"
        html = html.replace("</body>", f"<p>{ONLY_HERE}</p></body>")
    mail = Mail.objects.create(
        about=about, to=to, subject=subject, text=text, html=html, studio=studio
    )
    jobs.enqueue(send_waiting)
    return mail


def unsent(mails: "QuerySet[Mail]") -> "QuerySet[Mail]":
    """Return, of some mails, those that wait or were given up."""
    return mails.filter(sent_at=None)


@transaction.atomic
def try_again(*, mail: Mail) -> None:
    """Have a mail that waits, or was given up, sent as soon as can be."""
    found = Mail.objects.filter(pk=mail.pk, sent_at=None)
    if found.update(try_at=timezone.now(), written_at=timezone.now(), tries=0, problem=""):
        jobs.enqueue(send_waiting)


@transaction.atomic
def throw_away(*, mail: Mail) -> None:
    """Delete a mail that was not sent."""
    Mail.objects.filter(pk=mail.pk, sent_at=None).delete()


@transaction.atomic
def forget_sent() -> None:
    """Delete the mails that were sent, or given up, a month ago."""
    Mail.objects.filter(try_at=None, written_at__lt=timezone.now() - KEPT).delete()


def put_in_line_if_due() -> None:
    """Have the mails sent whose time has come."""
    if _due(timezone.now()).exists():
        jobs.enqueue(send_waiting)


@task()
def send_waiting() -> None:
    """Send the mails whose time has come, until one finds the server out of order."""
    try:
        with get_connection() as server:
            for pk in _due(timezone.now()).values_list("pk", flat=True)[:BATCH]:
                if not _send(server, pk):
                    return
    except OSError as error:  # it cannot be reached, which is every mail's problem
        for mail in _due(timezone.now())[:BATCH]:
            _put_off(mail, error)
    put_in_line_if_due()


def _due(now: datetime) -> "QuerySet[Mail]":
    free = Q(claimed_at=None) | Q(claimed_at__lt=now - CLAIM_LAPSES_AFTER)
    return Mail.objects.filter(free, try_at__lte=now).order_by("try_at", "pk")


def _send(server: BaseEmailBackend, pk: int) -> bool:
    """Send one mail unless another worker is at it; tell whether the server can take more."""
    now = timezone.now()
    if not _due(now).filter(pk=pk).order_by().update(claimed_at=now):
        return True
    mail = Mail.objects.get(pk=pk)
    try:
        _message(mail, server).send()
    except (smtplib.SMTPRecipientsRefused, smtplib.SMTPDataError) as error:
        _put_off(mail, error, for_good=_is_final(error))
        return True
    except OSError as error:
        _put_off(mail, error)
        return False
    Mail.objects.filter(pk=pk).update(
        sent_at=timezone.now(), try_at=None, claimed_at=None, text="", html="", problem=""
    )
    return True


def _message(mail: Mail, server: BaseEmailBackend) -> EmailMultiAlternatives:
    headers = {"Message-ID": mail.message_id, "Date": format_datetime(mail.written_at)}
    message = EmailMultiAlternatives(
        mail.subject, mail.text, to=[mail.to], headers=headers, connection=server
    )
    if mail.html:
        message.attach_alternative(mail.html, "text/html")
    return message


def _is_final(error: smtplib.SMTPRecipientsRefused | smtplib.SMTPDataError) -> bool:
    """Tell a refusal for good, such as of an address that is none (RFC 5321, section 4.2.1)."""
    if isinstance(error, smtplib.SMTPDataError):
        return error.smtp_code >= 500
    return all(code >= 500 for code, _ in error.recipients.values())


def _put_off(mail: Mail, error: OSError, *, for_good: bool = False) -> None:
    now = timezone.now()
    over = for_good or now - mail.written_at > GIVEN_UP_AFTER
    wait = min(FIRST_WAIT * 2 ** min(mail.tries, 10), LONGEST_WAIT)
    Mail.objects.filter(pk=mail.pk).update(
        try_at=None if over else now + wait,
        claimed_at=None,
        tries=mail.tries + 1,
        problem=str(error) or type(error).__name__,
    )
