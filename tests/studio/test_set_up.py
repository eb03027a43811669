"""Getting a site ready to be served: what is refused, in which words, and what is made."""

import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.hashers import make_password
from django.core.management import CommandError, call_command
from django.db import OperationalError, connection
from django.db.migrations.recorder import MigrationRecorder

from pricing.demo import shelves
from studio import pdf, set_up
from studio.models import Studio
from tests.factories.studio import MembershipFactory, StudioFactory, UserFactory

GOOD = {
    "DEBUG": False,
    "STATIC_FROM_SOURCE": False,
    "SECRET_KEY": "0123456789abcdef" * 4,
    "ALLOWED_HOSTS": ["pour.example"],
    "SITE_URL": "https://pour.example",
    "HTTPS": True,
    "SENDS_MAIL": True,
    "EMAIL_BACKEND": "django.core.mail.backends.smtp.EmailBackend",
    "OPEN_SIGN_UP": False,
    "TRUSTED_PROXIES": ["127.0.0.1"],
}
OWNER = "ana@pour.example"
ROOT = Path(__file__).parent.parent.parent


@pytest.fixture(autouse=True)
def ready(settings, tmp_path, monkeypatch):
    """The settings of a site that is ready; what takes long is noted and not done."""
    for name, value in GOOD.items():
        setattr(settings, name, value)
    settings.BACKUP_DIR = str(tmp_path / "backups")
    settings.MEDIA_ROOT, settings.STATIC_ROOT = tmp_path / "pictures", tmp_path / "static"
    done = []
    monkeypatch.setattr(set_up, "call_command", lambda name, **_: done.append(name))
    return done


def problems(owner=OWNER, studio="Blue Heron", open_sign_up=False):
    return set_up.problems(owner=owner, studio=studio, open_sign_up=open_sign_up)


@pytest.mark.django_db
def test_nothing_is_wrong_with_a_site_that_is_ready():
    assert problems() == []


WRONG = {
    "DEBUG": (True, "DEBUG is on"),
    "STATIC_FROM_SOURCE": (True, "STATIC_FROM_SOURCE is for trying things out"),
    "SECRET_KEY": ("x" * 49, "SECRET_KEY is shorter than 50"),
    "SITE_URL": ("http://127.0.0.1:8000", "opens on this machine only"),
    "ALLOWED_HOSTS": (["elsewhere.example"], "ALLOWED_HOSTS lacks pour.example"),
    "HTTPS": (False, "HTTPS is off"),
    "SENDS_MAIL": (False, "EMAIL_URL names no mail server"),
    "EMAIL_BACKEND": ("django.core.mail.backends.console.EmailBackend", "EMAIL_URL names no"),
    "OPEN_SIGN_UP": (True, "Anybody could open a studio here"),
    "TRUSTED_PROXIES": (["my-proxy"], "TRUSTED_PROXIES has my-proxy"),
    "BACKUP_DIR": ("", "BACKUP_DIR is empty"),
}


@pytest.mark.django_db
@pytest.mark.parametrize("name", WRONG)
def test_each_thing_that_is_wrong_is_said(settings, name):
    value, words = WRONG[name]
    setattr(settings, name, value)

    (said,) = problems()

    assert words in said
    assert said.endswith((".", ")"))


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("SITE_URL", "http://pour.example", "with https://"),
        ("ALLOWED_HOSTS", ["*"], "ALLOWED_HOSTS is *"),
        ("MEDIA_ROOT", Path("/proc/pictures"), "MEDIA_ROOT leads to /proc/pictures, where"),
    ],
)
def test_other_ways_to_be_wrong_are_said(settings, monkeypatch, name, value, words):
    may = os.access
    monkeypatch.setattr(  # root may write everywhere
        os, "access", lambda path, mode: may(path, mode) and Path(path) != Path("/proc")
    )
    setattr(settings, name, value)

    (said,) = problems()

    assert words in said


@pytest.mark.django_db
def test_the_folder_of_another_account_is_not_written_by_root(settings, tmp_path, monkeypatch):
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    theirs = SimpleNamespace(st_uid=1000, st_mode=0o40700)
    stat = Path.stat
    monkeypatch.setattr(
        Path, "stat", lambda path, **more: theirs if path == tmp_path else stat(path, **more)
    )
    monkeypatch.setattr(Path, "owner", lambda path: "pourwright")

    said = problems()

    assert len(said) == 3  # backups, pictures, files
    assert all(
        "which is pourwright's. Run this as they: runuser -u pourwright" in one for one in said
    )


@pytest.mark.django_db
def test_a_machine_that_prints_no_papers_is_told_the_command(monkeypatch):
    def lacking():
        raise pdf.PdfUnavailable("PDFs need the Pango library. Install it with: apt")

    monkeypatch.setattr(pdf, "_weasyprint", lacking)

    assert problems() == ["PDFs need the Pango library. Install it with: apt"]


@pytest.mark.django_db
def test_a_database_that_does_not_answer_is_told(monkeypatch):
    def gone():
        raise OperationalError("unable to open database file")

    monkeypatch.setattr(connection, "ensure_connection", gone)
    monkeypatch.setattr(set_up, "TRIES", 1)

    (said,) = problems()

    assert "does not answer" in said


@pytest.mark.django_db
def test_a_database_of_a_newer_program_is_refused():
    MigrationRecorder(connection).record_applied("studio", "9999_of_tomorrow")

    (said,) = problems()

    assert "of a newer Pourwright" in said


@pytest.mark.django_db
def test_the_demos_password_is_refused_on_whatever_account():
    MembershipFactory(user=UserFactory(password=make_password(shelves.PASSWORD)))
    gone = UserFactory(password=make_password(shelves.PASSWORD), is_active=False)
    found = problems()

    assert len(found) == 1
    assert "signs in with the demo's password" in found[0]
    assert gone.username not in found[0]


@pytest.mark.django_db
def test_sign_up_may_be_open_where_that_is_said(settings):
    settings.OPEN_SIGN_UP = True

    assert problems(open_sign_up=True) == []


@pytest.mark.django_db
def test_somebody_must_own_the_first_studio():
    assert "--owner" in problems(owner="")[0]
    assert "no e-mail address" in problems(owner="Ana")[0]
    StudioFactory()
    assert problems(owner="") == []


@pytest.mark.django_db
@pytest.mark.parametrize("name", [" ", "x" * 500])
def test_a_name_that_no_studio_can_have_is_refused_before_anything_is_made(name):
    (said,) = problems(studio=name)

    assert said.startswith("The studio needs another name behind --studio. ")


@pytest.mark.django_db
def test_all_is_said_at_once_and_nothing_is_changed(settings, ready):
    settings.HTTPS, settings.OPEN_SIGN_UP = False, True

    with pytest.raises(CommandError) as refused:
        call_command("set_up", owner=OWNER)

    assert "Nothing was changed" in str(refused.value)
    assert [line[:12] for line in str(refused.value).splitlines()[1:]] == [
        "- HTTPS is o",
        "- Anybody co",
    ]
    assert ready == []
    assert not Studio.objects.exists()
    assert not get_user_model().objects.exists()


@pytest.mark.django_db
def test_the_first_owner_gets_a_studio_and_a_link_until_a_password_is_chosen(
    ready, capsys, client, settings
):
    call_command("set_up", owner="Ana@pour.example", studio="Blue Heron", place="ie")

    assert ready == ["migrate", "collectstatic"]
    studio = Studio.objects.get()
    membership = studio.memberships.get()
    assert (studio.name, studio.currency, membership.role) == ("Blue Heron", "EUR", "owner")
    assert studio.techniques.exists()  # as every new studio has them
    link = capsys.readouterr().out.split()[-1]
    assert link.startswith("https://pour.example/")
    settings.ALLOWED_HOSTS = ["pour.example", "testserver"]
    page = client.get(link.removeprefix("https://pour.example"), follow=True, secure=True)
    assert page.status_code == 200

    call_command("set_up", owner=OWNER)
    assert "https://pour.example/" in capsys.readouterr().out.split()[-1]
    membership.user.set_password("velvet kettle orchard")
    membership.user.save()
    call_command("set_up", owner=OWNER)
    assert "chooses a password" not in capsys.readouterr().out
    assert Studio.objects.count() == 1


@pytest.mark.django_db
def test_an_account_that_is_there_owns_the_first_studio():
    user = UserFactory(username=OWNER, password=make_password("velvet kettle orchard"))

    assert set_up.first_owner(email=OWNER, studio="Blue Heron", place="uk") is None
    assert Studio.objects.get().memberships.get().user == user


@pytest.mark.django_db
def test_a_second_owner_is_not_made():
    StudioFactory()

    assert set_up.first_owner(email=OWNER, studio="Blue Heron", place="uk") is None
    assert not get_user_model().objects.exists()


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("SECRET_KEY", "", "SECRET_KEY is not set"),
        ("DATABASE_URL", "nonsense", "DATABASE_URL cannot be read"),
        ("EMAIL_URL", "nonsense", "EMAIL_URL cannot be read"),
    ],
)
def test_a_setting_that_cannot_be_read_is_said_in_a_sentence(name, value, words):
    told = {"SECRET_KEY": "x" * 60, "DATABASE_URL": "sqlite:///:memory:", name: value}
    done = subprocess.run(
        [sys.executable, "manage.py", "set_up"],
        cwd=ROOT,
        env={"PATH": os.environ["PATH"]} | told,
        capture_output=True,
        text=True,
    )

    assert done.returncode == 1
    assert done.stderr.splitlines()[-1].startswith(words)
    assert "Traceback" not in done.stderr
