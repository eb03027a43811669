"""Jobs wait in a table, are done once, and are not lost, whatever becomes of the worker."""

import os
import re
import signal
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connection, transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from studio import jobs
from tests.studio.jobs_to_do import fail, rename, rename_when_told

pytestmark = pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
ROOT = Path(__file__).parent.parent.parent
unix_only = pytest.mark.skipif(os.name == "nt", reason="Windows has no such signals")


@pytest.fixture
def own_signals():
    """The command listens to signals; what listened before the test does so again after it."""
    kept = {one: signal.getsignal(one) for one in (signal.SIGINT, signal.SIGTERM, signal.SIGQUIT)}
    yield
    for one, handler in kept.items():
        signal.signal(one, handler)


@pytest.fixture
def work(own_signals):
    return lambda: call_command("work", batch=True)


def statuses():
    """Return how the jobs of the tests stand; a worker has some of its own when it starts."""
    rows = DBTaskResult.objects.filter(task_path__startswith="tests.")
    return list(rows.order_by("enqueued_at").values_list("status", flat=True))


def test_a_job_is_done_by_the_worker(studio, work):
    jobs.enqueue(rename, studio.pk, "Studio Fern")
    studio.refresh_from_db()
    assert studio.name != "Studio Fern"

    work()

    studio.refresh_from_db()
    assert studio.name == "Studio Fern"
    assert statuses() == ["SUCCESSFUL"]


def test_what_is_not_committed_puts_nothing_in_line(studio):
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        jobs.enqueue(rename, studio.pk, "Studio Fern")
        raise ZeroDivisionError

    assert statuses() == []


def test_a_job_waits_for_the_commit(studio):
    with transaction.atomic():
        jobs.enqueue(rename, studio.pk, "Studio Fern")
        assert statuses() == []

    assert statuses() == ["READY"]


def test_a_job_that_waits_is_not_doubled(studio, work):
    for name in ("Fern", "Fern", "Moss"):
        jobs.enqueue(rename, studio.pk, name)
    assert statuses() == ["READY"] * 2

    work()
    jobs.enqueue(rename, studio.pk, "Fern")

    assert statuses() == ["SUCCESSFUL"] * 2 + ["READY"]


def test_one_that_has_begun_is_followed_by_another(studio):
    """It may have read before what was committed since."""
    jobs.enqueue(rename, studio.pk, "Fern")
    DBTaskResult.objects.get().claim("somebody")

    jobs.enqueue(rename, studio.pk, "Fern")

    assert statuses() == ["RUNNING", "READY"]


@pytest.mark.parametrize(
    ("tries", "waited", "status"),
    [
        (1, 59, "FAILED"), (1, 60, "READY"),
        (2, 119, "FAILED"), (2, 120, "READY"),
        (4, 479, "FAILED"), (4, 480, "READY"),
        (5, 36_000, "FAILED"),
    ],
)  # fmt: skip  # a row for each number of tries
def test_a_failed_job_is_tried_again_after_a_while(studio, work, tries, waited, status):
    """After 1, 2, 4 and 8 minutes, and then no more; what it failed of stays on record."""
    jobs.enqueue(fail, "Fern")
    for _ in range(tries - 1):
        DBTaskResult.objects.get().claim("somebody")
    DBTaskResult.objects.update(status="READY")
    work()
    row = DBTaskResult.objects.get()
    assert (row.status, len(row.worker_ids)) == ("FAILED", tries)
    assert "ValueError: Fern" in row.traceback

    jobs.put_back(now=row.finished_at + timedelta(seconds=waited))

    assert statuses() == [status]


def left_running(minutes, tries=1):
    row = DBTaskResult.objects.get()
    for _ in range(tries):
        row.claim("somebody")
    DBTaskResult.objects.update(started_at=timezone.now() - timedelta(minutes=minutes))


@pytest.mark.parametrize(("minutes", "status"), [(9, "RUNNING"), (11, "READY")])
def test_what_a_killed_worker_left_is_done_again(studio, minutes, status):
    jobs.enqueue(rename, studio.pk, "Fern")
    left_running(minutes)

    jobs.put_back()

    assert statuses() == [status]


def test_what_kills_each_worker_is_given_up(studio):
    jobs.enqueue(rename, studio.pk, "Fern")
    left_running(11, tries=5)

    assert jobs.put_back() == 0

    assert statuses() == ["FAILED"]
    assert DBTaskResult.objects.get().traceback == (
        "Its worker was killed in the midst of it, 5 times."
    )


def test_what_is_put_back_is_not_doubled(studio):
    jobs.enqueue(rename, studio.pk, "Fern")
    left_running(11)
    jobs.enqueue(rename, studio.pk, "Fern")

    jobs.put_back()

    assert statuses() == ["READY"]


def test_what_is_done_is_forgotten_after_a_month(studio, work, capsys):
    for days in (29, 31):
        jobs.enqueue(rename, studio.pk, "Fern")
        work()
        done = timezone.now() - timedelta(days=days)
        DBTaskResult.objects.filter(finished_at__gt=timezone.now() - timedelta(hours=1)).update(
            finished_at=done
        )
    jobs.enqueue(rename, studio.pk, "Moss")

    call_command("tidy")

    assert sorted(statuses()) == ["READY", "SUCCESSFUL"]


def worker():
    """Start a worker as a process of its own on the database of the test."""
    at = connection.settings_dict
    address = f"sqlite:///{at['NAME']}"
    if connection.vendor == "postgresql":
        address = f"postgres://{at['USER']}@{at['HOST']}:{at['PORT']}/{at['NAME']}"
    return subprocess.Popen(
        [sys.executable, "manage.py", "work"],
        cwd=ROOT,
        env=os.environ | {"DATABASE_URL": address, "DJANGO_SETTINGS_MODULE": "tests.settings"},
        stderr=subprocess.PIPE,
    )


def until(true, process):
    while not true():
        assert process.poll() is None, process.stderr.read().decode()
        time.sleep(0.05)


@unix_only
@pytest.mark.parametrize(
    "blows",
    [[signal.SIGKILL], [signal.SIGTERM, signal.SIGTERM], [signal.SIGINT, signal.SIGTERM]],
    ids=["killed", "told twice", "as Ctrl-C does"],
)
def test_nothing_is_lost_when_the_worker_is_ended_in_mid_job(studio, tmp_path, blows, work):
    jobs.enqueue(rename_when_told, studio.pk, "Studio Fern", str(tmp_path))
    process = worker()
    until((tmp_path / "begun").exists, process)

    for blow in blows:
        process.send_signal(blow)
        time.sleep(0.5)
    process.communicate()
    studio.refresh_from_db()
    assert studio.name != "Studio Fern"

    (tmp_path / "go").touch()
    DBTaskResult.objects.filter(status="RUNNING").update(
        started_at=timezone.now() - timedelta(minutes=11)
    )
    work()

    studio.refresh_from_db()
    assert studio.name == "Studio Fern"
    assert statuses() == ["SUCCESSFUL"]


@unix_only
def test_a_worker_that_is_told_to_end_finishes_its_job(studio, tmp_path):
    jobs.enqueue(rename_when_told, studio.pk, "Studio Fern", str(tmp_path))
    process = worker()
    until((tmp_path / "begun").exists, process)

    process.send_signal(signal.SIGTERM)
    (tmp_path / "go").touch()
    _, said = process.communicate()

    studio.refresh_from_db()
    assert (studio.name, statuses()) == ("Studio Fern", ["SUCCESSFUL"])
    assert (process.returncode, said) == (0, b"")


def test_only_one_module_puts_jobs_in_line():
    files = [
        path for app in ("studio", "inventory", "pricing") for path in (ROOT / app).rglob("*.py")
    ]

    found = {
        path.relative_to(ROOT).as_posix()
        for path in files
        if re.search(r"(?<!jobs)\.a?enqueue\(", path.read_text(encoding="utf-8"))
    }

    assert found == {"studio/jobs.py"}
