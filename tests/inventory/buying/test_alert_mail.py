"""The daily mail: one for each change, to whom it concerns, through a server that may fail."""

import os
import subprocess
import sys
from datetime import datetime, timedelta
from decimal import Decimal
from io import StringIO
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import OperationalError, connection
from django.urls import reverse
from django_tasks_db.models import DBTaskResult

from inventory.buying import alert_mail
from inventory.models import AlertNotice, Bottle
from pricing.demo.clock import Clock
from studio.models import Mail, Studio
from studio.outbox import send_waiting
from tests.factories.studio import MembershipFactory, StudioFactory
from tests.inventory.buying.test_alerts import hold, material
from tests.inventory.pages import words
from tests.inventory.stock.shelves import receive, use
from tests.letters import mail_server

D = Decimal
ROOT = Path(__file__).parents[3]
NEW_YORK = ZoneInfo("America/New_York")
SMTP = "django.core.mail.backends.smtp.EmailBackend"


@pytest.fixture
def ada(studio):
    """An owner, whom white paint running low concerns."""
    return MembershipFactory(studio=studio)


@pytest.fixture
def white(studio, ada):
    return material(studio, "White", 50, reorder_point=D(60))


def run(**options):
    """Run the command, send what it wrote, and return what it prints."""
    said = StringIO()
    call_command("alerts", stdout=said, **options)
    send_waiting.call()
    return said.getvalue()


def subjects(mails):
    return [mail.subject for mail in mails]


def test_an_owner_is_told_once(studio, ada, white, mailoutbox):
    assert run() == "1 written; 0 had nothing new.\n"
    assert run() == "0 written; 1 had nothing new.\n"

    (mail,) = mailoutbox
    assert mail.to == [ada.user.email]
    assert mail.subject == f"{studio}: White is running low"
    assert "50 mL is free; the reorder point is 60 mL." in mail.body
    page = f"{settings.SITE_URL}/stock/{white.pk}/"
    assert page in mail.body
    ((html, kind),) = mail.alternatives
    assert kind == "text/html" and f'href="{page}"' in html


def test_figures_that_drift_are_no_news_and_worse_is(ada, white, mailoutbox):
    run()
    use(white, 5)
    run()
    assert len(mailoutbox) == 1

    hold(white, 100)
    run()
    use_rest = Bottle.objects.get(material=white).remaining
    assert use_rest == 45

    assert "White is short for accepted work" in mailoutbox[1].subject
    assert len(mailoutbox) == 2


def test_what_gets_better_is_no_news_until_it_gets_worse_again(ada, white, mailoutbox):
    use(white, 50)
    run()
    receive(white, (40, 1))
    run()  # out, and now only low
    assert subjects(mailoutbox) == [f"{ada.studio}: White is out"]

    use(white, 40)
    run()

    assert len(mailoutbox) == 2


def test_what_is_over_is_told_with_the_next_news_and_then_forgotten(studio, ada, white, mailoutbox):
    run()
    receive(white, (500, 10))
    run()
    assert len(mailoutbox) == 1  # nothing new, no mail

    material(studio, "Gold", 5, reorder_point=D(10))
    run()
    assert "No longer:\n\n* White is running low" in mailoutbox[1].body

    use(white, 500)
    run()  # low again after it was over: news
    assert "White" in mailoutbox[2].subject
    assert "No longer" not in mailoutbox[2].body
    assert "Still so:\n\n* Gold is running low" in mailoutbox[2].body


def test_a_bottle_is_told_when_it_nears_its_day_and_when_it_is_past(studio, ada, mailoutbox):
    blue = material(studio, "Blue", 100)
    today = studio.today()
    for days in (20, 19, -1, -2):
        Bottle.objects.filter(material=blue).update(expires_on=today + timedelta(days=days))
        run()

    code = Bottle.objects.get(material=blue).code
    assert subjects(mailoutbox) == [
        f"{studio}: Blue, {code}, expires soon",
        f"{studio}: Blue, {code}, has expired",
    ]


def test_only_those_who_want_it_are_written_to(studio, white, ada, mailoutbox):
    maker = MembershipFactory(studio=studio, role="maker")
    alert_mail.choose_alert_mail(membership=maker, wanted=True)
    alert_mail.choose_alert_mail(membership=ada, wanted=False)
    MembershipFactory(studio=studio, role="viewer")
    mute = MembershipFactory(studio=studio)
    type(mute.user).objects.filter(pk=mute.user.pk).update(email="")
    left = MembershipFactory(studio=studio)
    type(left.user).objects.filter(pk=left.user.pk).update(is_active=False)

    run()

    assert [mail.to for mail in mailoutbox] == [[maker.user.email]]


def test_each_studio_is_told_of_its_own(studio, ada, white, mailoutbox):
    other = MembershipFactory(studio=StudioFactory())
    material(other.studio, "Gold", 5, reorder_point=D(10))

    run(studio=other.studio.pk)
    assert [mail.to for mail in mailoutbox] == [[other.user.email]]
    run()

    assert "White" in mailoutbox[1].subject and "Gold" not in mailoutbox[1].body
    with pytest.raises(CommandError, match="There is no studio number 999999"):
        run(studio=999_999)


def test_a_name_cannot_break_the_subject_or_the_page(studio, ada, mailoutbox):
    material(studio, "White\r\nBcc: all@x.example <b>", reorder_point=D(10), on_hand=5)

    run()

    (mail,) = mailoutbox
    assert "\n" not in mail.subject and len(mail.subject) <= alert_mail.SUBJECT_LENGTH
    assert "<b>" not in mail.alternatives[0][0]


def test_a_dry_run_prints_and_remembers_nothing(ada, white, mailoutbox):
    assert "White is running low" in run(dry_run=True)
    assert run(dry_run=True).startswith(f"To {ada.user.email}")
    assert (len(mailoutbox), AlertNotice.objects.count()) == (0, 0)
    run()

    assert run(dry_run=True) == f"Nothing new for {ada.user.email} of {ada.studio}: no mail.\n"


def test_a_server_takes_the_mail(ada, white, settings):
    settings.EMAIL_BACKEND = SMTP
    with mail_server() as (port, mails):
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", port
        run()

    (mail,) = mails
    assert mail["To"] == ada.user.email
    assert mail["Subject"] == f"{ada.studio}: White is running low"
    assert [part.get_content_type() for part in mail.iter_parts()] == ["text/plain", "text/html"]


def test_what_is_not_written_was_not_told(ada, white, monkeypatch, settings):
    """The mail and what it told are kept together or not at all."""

    def full(**fields):
        raise OperationalError("database or disk is full")

    with monkeypatch.context() as patched, pytest.raises(OperationalError):
        patched.setattr(Mail.objects, "create", full)
        run()
    assert AlertNotice.objects.count() == 0

    settings.SENDS_MAIL = False
    with pytest.raises(CommandError, match="This site sends no mail"):
        run()
    assert AlertNotice.objects.count() == 0


@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
@pytest.mark.parametrize(("clock", "count"), [("06:29", 0), ("06:30", 1), ("23:59", 1)])
def test_the_worker_writes_in_the_studios_own_morning(studio, white, clock, count):
    Studio.objects.update(time_zone="America/New_York")
    morning = datetime.fromisoformat(f"2026-05-04T{clock}").replace(tzinfo=NEW_YORK)

    with Clock(morning).governs():
        for _ in range(3):
            alert_mail.put_in_line_if_due()

    written = DBTaskResult.objects.filter(task_path=alert_mail.write_morning_news.module_path)
    assert written.count() == count


@pytest.mark.django_db
def test_a_minute_asks_the_same_for_one_studio_as_for_many(django_assert_num_queries):
    for _ in range(4):
        StudioFactory()
    with Clock(datetime(2026, 5, 4, 12, tzinfo=NEW_YORK)).governs():
        alert_mail.put_in_line_if_due()
        for studio in Studio.objects.all():
            alert_mail.write_morning_news.enqueue(studio.pk)
        with django_assert_num_queries(2):  # the studios, and what was put in line today
            alert_mail.put_in_line_if_due()


def test_each_morning_is_written_once(studio, ada, white, mailoutbox):
    alert_mail.write_morning_news.call(studio.pk)
    alert_mail.write_morning_news.call(studio.pk)
    alert_mail.write_morning_news.call(0)  # a studio that is gone

    assert [mail.to for mail in Mail.objects.all()] == [ada.user.email]


@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
def test_two_runs_at_once_write_one_mail(ada, white):
    """Two processes with the same database, started together."""
    told = os.environ | {
        "DATABASE_URL": _database(),
        "DJANGO_SETTINGS_MODULE": "studio.settings",
        "SECRET_KEY": settings.SECRET_KEY,
        "EMAIL_URL": "consolemail://",
    }
    command = [sys.executable, "manage.py", "alerts"]
    runs = [
        subprocess.Popen(command, cwd=ROOT, env=told, stdout=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    said = sorted(one.communicate(timeout=60)[0] for one in runs)

    assert [one.returncode for one in runs] == [0, 0]
    assert said == ["0 written; 1 had nothing new.\n", "1 written; 0 had nothing new.\n"]
    assert Mail.objects.count() == 1


def _database():
    """Return the address of the test database, for a process of its own."""
    kept = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{kept['NAME']}"
    where = f"{kept['HOST']}:{kept['PORT']}" if kept["PORT"] else kept["HOST"]
    who = f"{kept['USER']}:{kept['PASSWORD']}" if kept["PASSWORD"] else kept["USER"]
    return f"postgres://{who}@{where}/{kept['NAME']}"


def test_each_member_switches_their_own_mail(studio, owner, viewer, stranger):
    page, switch = reverse("alerts"), reverse("alert-mail")
    assert "You get a mail" in words(owner.client.get(page))
    assert "You get no mail" in words(viewer.client.get(page))

    viewer.client.post(switch, {"wanted": "on"})
    owner.client.post(switch, {})

    assert alert_mail.gets_alert_mail(viewer.membership)
    assert not alert_mail.gets_alert_mail(owner.membership)
    assert stranger.client.post(switch).status_code == 302
    assert owner.client.get(switch).status_code == 405


def test_the_api_switches_it_too(studio, owner, viewer, stranger):
    address = reverse("api-alert-mail")
    assert owner.api.get(address).data == {"wanted": True}
    assert viewer.api.get(address).data == {"wanted": False}

    assert viewer.api.patch(address, {"wanted": True}).data == {"wanted": True}

    assert alert_mail.gets_alert_mail(viewer.membership)
    assert viewer.api.patch(address, {}).status_code == 400
    assert stranger.api.get(address).status_code == 401
