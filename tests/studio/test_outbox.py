"""Mails wait in the outbox, go out once, and nobody is missed, whatever becomes of the server."""

import re
import socket
from datetime import timedelta

import pytest
from django.conf import settings as product_settings
from django.core.mail.message import EmailMultiAlternatives
from django.db import transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from studio import outbox
from studio.models import Mail
from tests.factories.studio import MailFactory, StudioFactory
from tests.letters import free_port, mail_server

pytestmark = pytest.mark.django_db
SMTP = "django.core.mail.backends.smtp.EmailBackend"


def write(to="ada@example.com", **more):
    said = {"about": Mail.About.ALERTS, "subject": "White is out", "text": "Nothing is left."}
    return outbox.write(to=to, **said | more)


@pytest.fixture
def smtp(settings):
    """Mails go to a server of the loopback, which a test names by its port."""
    settings.EMAIL_BACKEND, settings.EMAIL_HOST = SMTP, "127.0.0.1"
    settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = free_port(), 0.5
    return settings


def waits(mail):
    mail.refresh_from_db()
    return mail.try_at - timezone.now()


@pytest.mark.django_db(transaction=True, available_apps=product_settings.INSTALLED_APPS)
def test_a_mail_is_written_with_what_it_tells_or_not_at_all(mailoutbox):
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        write()
        raise ZeroDivisionError
    assert (Mail.objects.count(), DBTaskResult.objects.count()) == (0, 0)

    with transaction.atomic():
        write()
        assert mailoutbox == []

    assert DBTaskResult.objects.get().task_path == outbox.send_waiting.module_path


def test_it_goes_out_once_and_is_forgotten_but_for_its_subject(smtp):
    mail = write(html="<p>Nothing is left.</p>")
    with mail_server() as (smtp.EMAIL_PORT, came):
        outbox.send_waiting.call()
        outbox.send_waiting.call()

    (letter,) = came
    assert (letter["To"], letter["Subject"]) == ("ada@example.com", "White is out")
    assert letter["Message-ID"] == mail.message_id
    assert [part.get_content_type() for part in letter.iter_parts()] == ["text/plain", "text/html"]
    mail.refresh_from_db()
    assert mail.sent_at and mail.try_at is None
    assert (mail.text, mail.html, mail.subject) == ("", "", "White is out")


def test_a_worker_that_dies_between_sending_and_noting_it_sends_the_same_again(smtp, monkeypatch):
    write()

    class Killed(BaseException):
        """The end of a process, which nothing catches."""

    def send_and_die(message, **how):
        message.connection.send_messages([message])
        raise Killed

    with mail_server() as (smtp.EMAIL_PORT, came):
        with monkeypatch.context() as patched, pytest.raises(Killed):
            patched.setattr(EmailMultiAlternatives, "send", send_and_die)
            outbox.send_waiting.call()
        outbox.send_waiting.call()
        assert len(came) == 1  # while another worker may be at it

        Mail.objects.update(claimed_at=timezone.now() - timedelta(minutes=6))
        outbox.send_waiting.call()

    first, second = came
    assert first["Message-ID"] == second["Message-ID"]
    assert first["Date"] == second["Date"]
    assert Mail.objects.get().sent_at


def test_what_a_hanging_server_did_not_take_is_sent_later_and_nobody_is_missed(smtp):
    letters = [write(to=f"{name}@example.com") for name in ("ada", "bo", "cam")]
    with socket.socket() as silent:  # takes the call and says nothing
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        smtp.EMAIL_PORT = silent.getsockname()[1]
        outbox.send_waiting.call()

    for mail in letters:
        assert timedelta(minutes=1) < waits(mail) <= timedelta(minutes=2)
        assert "timed out" in mail.problem

    Mail.objects.update(try_at=timezone.now())
    with mail_server() as (smtp.EMAIL_PORT, came):
        outbox.send_waiting.call()

    assert sorted(one["To"] for one in came) == [f"{n}@example.com" for n in ("ada", "bo", "cam")]
    assert set(Mail.objects.values_list("problem", flat=True)) == {""}


def test_one_that_is_refused_keeps_no_other_back(smtp):
    """The server says no to one address for good, and to another for now."""
    says = {"gone@example.com": "550 No such person", "full@example.com": "452 Mailbox full"}
    for name in ("gone", "full", "ada"):
        write(to=f"{name}@example.com")
    with mail_server(says=says) as (smtp.EMAIL_PORT, came):
        outbox.send_waiting.call()

    assert [one["To"] for one in came] == ["ada@example.com"]
    gone, full = (Mail.objects.get(to=to) for to in says)
    assert gone.try_at is None and "No such person" in gone.problem
    assert full.try_at and "Mailbox full" in full.problem


@pytest.mark.parametrize(
    ("tries", "minutes"), [(0, 2), (1, 4), (4, 32), (6, 120), (7, 120), (40, 120)]
)
def test_waits_grow_up_to_two_hours(smtp, tries, minutes):
    mail = write()
    Mail.objects.update(tries=tries)

    outbox.send_waiting.call()  # nobody there

    assert timedelta(minutes=minutes - 1) < waits(mail) <= timedelta(minutes=minutes)


def test_after_five_days_it_is_given_up_until_it_is_asked_for(smtp):
    """RFC 5321, section 4.5.4.1: "the give-up time generally needs to be at least 4-5 days"."""
    mail = write()
    Mail.objects.update(written_at=timezone.now() - timedelta(days=5, minutes=1))
    outbox.send_waiting.call()
    mail.refresh_from_db()
    assert (mail.try_at, mail.sent_at, bool(mail.problem)) == (None, None, True)

    outbox.try_again(mail=mail)
    with mail_server() as (smtp.EMAIL_PORT, came):
        outbox.send_waiting.call()

    assert len(came) == 1


def test_one_thrown_away_is_not_sent_and_one_sent_stays(mailoutbox):
    sent, thrown = write(), write()
    outbox.throw_away(mail=thrown)
    outbox.send_waiting.call()
    outbox.throw_away(mail=sent)
    outbox.try_again(mail=sent)
    outbox.send_waiting.call()

    assert len(mailoutbox) == 1
    assert list(Mail.objects.all()) == [sent]


def test_what_was_sent_a_month_ago_is_forgotten():
    for days, waiting in ((29, False), (31, False), (31, True)):
        MailFactory(
            written_at=timezone.now() - timedelta(days=days),
            try_at=timezone.now() if waiting else None,
        )

    outbox.forget_sent()

    assert Mail.objects.filter(try_at=None).count() == 1
    assert Mail.objects.exclude(try_at=None).count() == 1


def test_a_site_without_a_server_says_so(settings):
    settings.SENDS_MAIL = False

    with pytest.raises(outbox.NoMail, match="has to set EMAIL_URL"):
        write()


def test_a_subject_stays_one_line(mailoutbox):
    write(subject="White\r\nBcc: all@example.com")
    outbox.send_waiting.call()

    assert mailoutbox[0].subject == "White Bcc: all@example.com"


def test_many_are_sent_in_batches(mailoutbox, monkeypatch):
    monkeypatch.setattr(outbox, "BATCH", 2)
    for _ in range(5):
        write()
    outbox.send_waiting.call()
    assert len(mailoutbox) == 2

    outbox.send_waiting.call()
    outbox.send_waiting.call()

    assert len(mailoutbox) == 5


# On a page


def test_an_owner_sees_what_was_not_sent_and_has_it_tried_again(owner, smtp):
    mail = MailFactory(studio=owner.studio, subject="White is out", tries=2, problem="451 Later")
    page = owner.client.get("/background/").content.decode()
    assert "White is out" in page and "451 Later" in page
    assert "1 mail could not be sent" in owner.client.get("/").content.decode()

    with mail_server() as (smtp.EMAIL_PORT, came):
        owner.client.post(f"/background/mails/{mail.pk}/again/")
        outbox.send_waiting.call()

    assert len(came) == 1
    assert "could not be sent" not in owner.client.get("/").content.decode()


def test_an_owner_gives_one_up(owner):
    mail = MailFactory(studio=owner.studio)

    owner.client.post(f"/background/mails/{mail.pk}/give-up/")

    assert not Mail.objects.exists()


def test_others_reach_no_mail_of_the_studio(owner, maker, viewer, other_owner, stranger):
    mail = MailFactory(studio=owner.studio)
    for who, status in ((maker, 403), (viewer, 403), (other_owner, 404), (stranger, 302)):
        for what in ("again", "give-up"):
            answer = who.client.post(f"/background/mails/{mail.pk}/{what}/")
            assert answer.status_code == status
    assert Mail.objects.filter(pk=mail.pk).exists()
    assert mail.subject not in maker.client.get("/background/").content.decode()


def test_a_mail_of_another_studio_is_not_shown(owner):
    MailFactory(studio=StudioFactory(), subject="Their gold is out", tries=1)

    assert "gold" not in owner.client.get("/background/").content.decode()
    assert "could not be sent" not in owner.client.get("/").content.decode()


def test_what_is_kept_names_no_link_once_it_is_sent(mailoutbox):
    """A link to a new password works for a day, and is kept for no longer than it takes to send."""
    write(text="http://x.example/password/new/abc/def/")
    outbox.send_waiting.call()

    kept = Mail.objects.values().get()
    assert not [value for value in kept.values() if re.search("password/new", str(value))]
