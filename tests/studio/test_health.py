"""How the site says that it stands, in each state that it can be in."""

import shutil
from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.db import OperationalError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from studio import health
from studio.backups.making import back_up

READY = "/health/ready"


@pytest.fixture
def client():
    return Client(headers={"host": "172.17.0.3:8000"})  # no visitor's name for the site


def job(minutes, run_after=None):
    """Put a job in line, as it stands so many minutes later."""
    back_up.enqueue()
    one = DBTaskResult.objects.latest("enqueued_at")
    changes = {"enqueued_at": timezone.now() - timedelta(minutes=minutes)}
    if run_after:
        changes["run_after"] = run_after
    DBTaskResult.objects.filter(pk=one.pk).update(**changes)


def test_that_it_lives_is_said_without_asking_anything(client):
    answer = client.get("/health/live")  # which would fail here, where no database may be asked

    assert (answer.status_code, answer.json()) == (200, {"live": True})


@pytest.mark.django_db
def test_a_site_that_can_serve_says_so(client):
    answer = client.get(READY)

    assert answer.status_code == 200
    assert answer.json() == {
        "ready": True,
        "well": True,
        "database": "The database answers and is up to date.",
        "work": "No job waits.",
        "room_for_pictures": "There is room for pictures.",
    } | ({"room_for_data": "There is room for data."} if connection.vendor == "sqlite" else {})
    assert "no-store" in answer["Cache-Control"]


@pytest.mark.django_db
@pytest.mark.parametrize("count", [1, 30])
def test_it_costs_three_queries_however_much_waits(client, count, django_assert_num_queries):
    client.get(READY)
    for _ in range(count):
        job(0)

    with django_assert_num_queries(3):  # is there a table of migrations, which, what waits
        told = client.get(READY).json()

    assert told["work"].startswith(f"{count} job{'s wait' if count > 1 else ' waits'}, none")


@pytest.mark.django_db
def test_no_more_is_counted_than_has_a_bound(client, monkeypatch):
    monkeypatch.setattr(health, "MOST_COUNTED", 2)
    for _ in range(3):
        job(0)

    assert client.get(READY).json()["work"] == "2 or more jobs wait, none for long."


@pytest.mark.django_db
def test_a_job_that_waits_too_long_is_told_and_pages_go_on(client):
    job(1)
    job(20)
    job(500, run_after=timezone.now() + timedelta(hours=1))  # not to be begun yet

    answer = client.get(READY)

    assert (answer.status_code, answer.json()["ready"], answer.json()["well"]) == (200, True, False)
    assert answer.json()["work"] == (
        "2 jobs wait, the first for more than 5 minutes. See that manage.py work is running."
    )


@pytest.mark.django_db
def test_a_database_of_an_older_program_is_told(client):
    latest = MigrationRecorder.Migration.objects.filter(app="studio").latest("name")
    latest.delete()

    answer = client.get(READY)

    assert (answer.status_code, answer.json()["ready"]) == (503, False)
    assert "manage.py set_up" in answer.json()["database"]


def test_a_database_that_is_gone_is_told(client, monkeypatch):
    def gone(self):
        raise OperationalError("unable to open database file")

    monkeypatch.setattr(MigrationRecorder, "applied_migrations", gone)

    answer = client.get(READY)

    assert (answer.status_code, answer.json()["ready"]) == (503, False)
    assert "does not answer" in answer.json()["database"]
    assert "work" not in answer.json()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("low", "status"), [("media", 503), ("backups", 200)], ids=["pictures", "backups"]
)
def test_a_disk_that_is_nearly_full_is_told(client, settings, monkeypatch, tmp_path, low, status):
    settings.MEDIA_ROOT, settings.BACKUP_DIR = tmp_path / "media", str(tmp_path / "backups")
    for folder in ("media", "backups"):
        (tmp_path / folder).mkdir()
    little = SimpleNamespace(free=health.LEAST_FREE - 1)
    usage = shutil.disk_usage
    monkeypatch.setattr(
        shutil, "disk_usage", lambda path: little if path == tmp_path / low else usage(path)
    )

    answer = client.get(READY)

    name = {"media": "pictures", "backups": "backups"}[low]
    assert answer.status_code == status
    assert answer.json()[f"room_for_{name}"] == (
        f"Less than 100 MB are free where {name} are kept. Make room."
    )
    assert answer.json()["well"] is False
    assert str(tmp_path) not in answer.content.decode()


@pytest.mark.django_db
def test_a_proxy_that_is_not_trusted_is_told(client):
    told = client.get(READY, REMOTE_ADDR="10.2.0.1", HTTP_X_FORWARDED_FOR="203.0.113.9").json()

    assert (told["ready"], told["well"]) == (True, False)
    assert "TRUSTED_PROXIES" in told["proxy"]


@pytest.mark.django_db
def test_it_is_answered_without_https(client, settings):
    settings.HTTPS = settings.SECURE_SSL_REDIRECT = True

    assert client.get(READY).status_code == 200
    assert client.get("/health/live").status_code == 200
    assert client.get("/sign-in/", headers={"host": "testserver"}).status_code != 200


@pytest.mark.parametrize("path", ["/health/live", READY])
def test_it_is_only_looked_at(client, path):
    assert client.post(path).status_code == 405
