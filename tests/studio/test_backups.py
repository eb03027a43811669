"""Backups: made while others write, proved, thinned out, encrypted, back on any database."""

import json
import os
import sqlite3
import subprocess
import sys
import zipfile
from contextlib import closing
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from threading import Event, Thread

import psycopg
import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection, transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from inventory.models import Movement
from studio.backups import making, reading, restoring, secrecy, writing
from studio.backups.errors import BackupRefused
from studio.backups.keeping import kept
from studio.backups.warning import caretakers, warn_of_old_backup
from studio.models import Backup, Mail, Studio
from tests.factories.everything import one_of_everything
from tests.factories.studio import StudioFactory, UserFactory
from tests.schema import schema_of

ROOT = Path(__file__).parent.parent.parent


def run(url, *command):
    """Run a command as somebody at the keyboard would, on the database of a URL."""
    return subprocess.run(
        [sys.executable, "manage.py", *command],
        cwd=ROOT,
        env=os.environ | {"DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "studio.settings"},
        capture_output=True,
        text=True,
        encoding="utf-8",
    )


def told(path):
    """Return {table: lines} of a backup, without what says when it was made."""
    with zipfile.ZipFile(path) as archive:
        names = set(archive.namelist()) - {writing.MANIFEST}
        return {name: archive.read(name).decode().splitlines() for name in sorted(names)}


@pytest.fixture
def elsewhere(tmp_path):
    """The URL of a database that is not there yet, on the kind of database the tests run on."""
    if connection.vendor == "sqlite":
        yield f"sqlite:///{tmp_path / 'restored.sqlite3'}"
        return
    own = connection.settings_dict
    name = f"{own['NAME']}_restored"
    drop = f"DROP DATABASE IF EXISTS {connection.ops.quote_name(name)}"
    with connection.cursor() as cursor:
        cursor.execute(drop)
        cursor.execute(f"CREATE DATABASE {connection.ops.quote_name(name)}")
    yield f"postgres://{own['USER']}@{own['HOST']}:{own['PORT']}/{name}"
    with connection.cursor() as cursor:
        cursor.execute(drop)


@pytest.mark.django_db(transaction=True)
def test_everything_comes_back_on_either_database(tmp_path, elsewhere):
    studio = StudioFactory()
    one_of_everything(studio)
    filled = {model._meta.label for model in apps.get_models() if model._base_manager.exists()}
    made = making.make_backup(tmp_path / "kept")
    file = tmp_path / "kept" / made.name
    assert made.problem == ""
    assert made.checked_at is not None
    assert file.stat().st_mode & 0o777 == 0o600
    assert [path.name for path in file.parent.iterdir()] == [made.name]

    restoring.restore(file, elsewhere)
    other = f"sqlite:///{tmp_path / 'other.sqlite3'}"
    restoring.restore(file, other)

    rows = told(file)
    assert len(filled) > 50
    # The first line of a table names its columns.
    assert {name.removesuffix(".jsonl") for name in rows if len(rows[name]) > 1} >= filled
    for number, url in enumerate((elsewhere, other)):
        again = run(url, "backup", "--to", str(tmp_path / str(number)), "--no-check")
        assert again.returncode == 0, again.stderr
        lines = told(again.stdout.strip())
        changed = {name for name in rows if rows[name] != lines[name]}
        # The tests empty these two tables, and an upgrade fills them.
        assert changed <= {"auth.Permission.jsonl", "contenttypes.ContentType.jsonl"}
    # Counted without the code that wrote it.
    with closing(sqlite3.connect(tmp_path / "other.sqlite3")) as there:
        count, names = there.execute(
            "SELECT COUNT(*), MAX(value) FROM inventory_movement"
        ).fetchone()
        assert count == Movement.objects.count()
        assert Decimal(str(names)) == max(Movement.objects.values_list("value", flat=True))
        found = there.execute("SELECT name FROM studio_studio WHERE id = ?", [studio.pk]).fetchone()
        assert found == (studio.name,)


@pytest.mark.django_db(transaction=True)
def test_the_schema_comes_back_whole(tmp_path, elsewhere):
    writing.write(tmp_path / "one.backup")
    restoring.restore(tmp_path / "one.backup", elsewhere)
    with connection.cursor() as cursor:
        ours = schema_of(cursor, connection.vendor)
    if connection.vendor == "sqlite":
        with closing(sqlite3.connect(elsewhere.removeprefix("sqlite:///"))) as there:
            built = schema_of(there.cursor(), connection.vendor)
    else:
        with psycopg.connect(elsewhere) as there:
            built = schema_of(there.cursor(), connection.vendor)
    assert len(ours) > 500
    assert built == ours


@pytest.mark.django_db(transaction=True)
def test_what_is_there_stays_unless_it_is_said(tmp_path, elsewhere):
    StudioFactory(name="Before")
    first = tmp_path / making.make_backup(tmp_path, check=False).name
    restoring.restore(first, elsewhere)
    Studio.objects.update(name="After")
    second = tmp_path / "second.backup"
    writing.write(second)

    with pytest.raises(BackupRefused, match="--overwrite"):
        restoring.restore(second, elsewhere)
    damaged = tmp_path / "damaged.backup"
    body = bytearray(second.read_bytes())
    body[len(body) // 2] ^= 0xFF
    damaged.write_bytes(body)
    with pytest.raises(BackupRefused, match="whole backup"):
        restoring.restore(damaged, elsewhere, overwrite=True)
    assert names_in(elsewhere, tmp_path / "a") == ["Before"]

    restoring.restore(second, elsewhere, overwrite=True)
    assert names_in(elsewhere, tmp_path / "b") == ["After"]


def names_in(url, folder):
    done = run(url, "backup", "--to", str(folder), "--no-check")
    heading, *rows = map(json.loads, told(done.stdout.strip())["studio.Studio.jsonl"])
    return [row[heading.index("name")] for row in rows]


@pytest.mark.django_db(transaction=True)
def test_damage_anywhere_is_found(tmp_path):
    StudioFactory()
    writing.write(tmp_path / "whole.backup")
    body = (tmp_path / "whole.backup").read_bytes()
    damaged = tmp_path / "damaged.backup"
    refused = 0
    for place in range(0, len(body), len(body) // 150):
        damaged.write_bytes(body[:place] + bytes([body[place] ^ 0xFF]) + body[place + 1 :])
        try:
            with reading.opened(damaged) as backup:
                rows = {label: list(backup.table(label, 99)) for label in backup.counts}
        except BackupRefused:
            refused += 1
        else:  # in a date or the like that nobody reads
            with reading.opened(tmp_path / "whole.backup") as whole:
                assert rows == {label: list(whole.table(label, 99)) for label in whole.counts}
    assert refused > 100


@pytest.mark.django_db(transaction=True)
def test_a_backup_holds_one_moment_while_others_write(tmp_path):
    written, enough, done = [], Event(), Event()

    def write():
        try:
            while not done.is_set():
                with transaction.atomic():  # two that belong together
                    StudioFactory(name=f"left {len(written)}")
                    StudioFactory(name=f"right {len(written)}")
                written.append(None)
                if len(written) == 20:
                    enough.set()
        finally:
            connection.close()

    writer = Thread(target=write)
    writer.start()
    try:
        assert enough.wait(60)
        before = len(written)
        writing.write(tmp_path / "one.backup")
        assert len(written) > before  # nobody had to wait for it
    finally:
        done.set()
        writer.join()
    heading, *rows = map(json.loads, told(tmp_path / "one.backup")["studio.Studio.jsonl"])
    names = [row[heading.index("name")].split() for row in rows]
    left = {number for side, number in names if side == "left"}
    assert left == {number for side, number in names if side == "right"}
    assert {str(number) for number in range(before)} <= left


@pytest.mark.django_db(transaction=True)
def test_a_backup_is_for_the_holder_of_the_key(tmp_path, settings, elsewhere):
    StudioFactory(name="Hidden studio")
    public, secret = secrecy.new_key()
    settings.BACKUP_KEY = public
    made = making.make_backup(tmp_path)
    file = tmp_path / made.name
    assert made.problem == "" and made.name.endswith(".age")
    # The open format says so in its first line: age-encryption.org/v1.
    assert file.read_bytes().startswith(b"age-encryption.org/v1\n")
    assert b"Hidden studio" not in file.read_bytes()

    for key in ("", public, secrecy.new_key()[1]):
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("BACKUP_KEY", key)
            with pytest.raises(BackupRefused, match="BACKUP_KEY"):
                restoring.restore(file, elsewhere)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BACKUP_KEY", secret)
        restoring.restore(file, elsewhere)
    settings.BACKUP_KEY = "open sesame"
    with pytest.raises(BackupRefused, match="neither a public key"):
        making.make_backup(tmp_path / "none")
    assert list((tmp_path / "none").iterdir()) == []


@pytest.mark.django_db(transaction=True)
def test_a_backup_of_a_newer_pourwright_is_refused(tmp_path, elsewhere):
    writing.write(tmp_path / "now.backup")
    with (
        zipfile.ZipFile(tmp_path / "now.backup") as now,
        zipfile.ZipFile(tmp_path / "newer.backup", "w") as newer,
    ):
        for name in now.namelist():
            newer.writestr(name, now.read(name).replace(b'"0009_backup"', b'"9999_to_come"'))
    with pytest.raises(BackupRefused, match="newer Pourwright"):
        restoring.restore(tmp_path / "newer.backup", elsewhere)


def test_what_cannot_be_meant_is_refused_in_words(tmp_path):
    text = tmp_path / "text.backup"
    text.write_text("no backup")
    for file, into, words in (
        (text, f"sqlite:///{tmp_path / 'a'}", "not a whole backup"),
        (tmp_path / "none", f"sqlite:///{tmp_path / 'a'}", "There is no file"),
        (text, "mysql://me@127.0.0.1/x", "DATABASE_URL"),
        (text, "postgres://nobody@127.0.0.1:1/x", "does not answer"),
    ):
        with pytest.raises(BackupRefused, match=words):
            restoring.restore(file, into)
    assert [path.name for path in tmp_path.iterdir()] == ["text.backup"]


@pytest.mark.django_db(transaction=True)
def test_books_that_do_not_agree_are_found_in_the_trial(tmp_path):
    studio = StudioFactory()
    one_of_everything(studio)
    bottle = studio.bottles.first()
    type(bottle).objects.filter(pk=bottle.pk).update(remaining=bottle.remaining + 1)
    made = making.make_backup(tmp_path)
    assert made.checked_at is None
    assert bottle.code in made.problem or str(bottle) in made.problem
    assert not Backup.objects.exclude(checked_at=None).exists()


def test_the_newest_of_each_day_week_and_month_is_kept():
    # Every night of two years at three, and one noon. By hand: the last seven days are 25 to 31
    # December; the Sundays before Thursday 31 December 2026 are 27, 20, 13 and 6, and 31 is the
    # newest of its own week; the months end on their last days.
    nights = [datetime(2025, 1, 1, 3) + timedelta(days=day) for day in range(730)]
    noon = datetime(2026, 12, 29, 12)
    days = {datetime(2026, 12, day, 3) for day in (25, 26, 27, 28, 30, 31)} | {noon}
    weeks = {datetime(2026, 12, day, 3) for day in (27, 20, 13, 6, 31)}
    ends = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    months = {datetime(2026, month, end, 3) for month, end in enumerate(ends, 1)}
    assert kept([*nights, noon]) == days | weeks | months
    assert kept([]) == set()


def test_other_files_of_the_folder_are_left_alone(tmp_path):
    old = [f"pourwright-2020-01-{day:02}-030000.backup" for day in range(1, 31)]
    for name in (*old, "notes.txt", "pourwright-2020-01-01.backup"):
        (tmp_path / name).touch()
    making.thin_out(tmp_path)
    left = {path.name for path in tmp_path.iterdir()}
    assert {"notes.txt", "pourwright-2020-01-01.backup", old[-1]} <= left
    assert len(left & set(old)) == 10  # 24 to 30, and Sundays 19, 12, 5 of other weeks


@pytest.mark.django_db
class TestTheOwnersPage:
    @pytest.fixture(autouse=True)
    def somewhere(self, settings, tmp_path):
        settings.BACKUP_DIR = str(tmp_path)

    def test_it_says_when_the_last_good_one_was(self, owner, maker):
        at = timezone.now() - timedelta(hours=20)
        Backup.objects.create(name="a", made_at=at, checked_at=at)
        words = "brought back for a trial"
        assert words in owner.client.get("/").content.decode()
        assert words not in maker.client.get("/").content.decode()

    @pytest.mark.parametrize("problem", ["", "No space left on device"])
    def test_it_warns_when_that_is_long_ago(self, owner, problem):
        at = timezone.now() - timedelta(days=3)
        Backup.objects.create(name="a", made_at=at, checked_at=at)
        Backup.objects.create(name="b", problem=problem)
        page = owner.client.get("/").content.decode()
        assert "last backup that is known to come back" in page
        assert problem in page

    def test_it_warns_when_there_is_none(self, owner):
        assert "No backup is known to come back" in owner.client.get("/").content.decode()


@pytest.mark.django_db(transaction=True)
def test_the_worker_makes_one_a_night(settings, tmp_path, monkeypatch):
    settings.BACKUP_DIR = str(tmp_path)
    monkeypatch.setattr(restoring, "check", lambda file, folder: "")  # proved above
    for _ in range(2):
        making.put_in_line_if_due()
        call_command("work", batch=True)
    assert Backup.objects.count() == len(list(tmp_path.iterdir())) == 1
    # What failed is tried again an hour later, and not before.
    Backup.objects.update(problem="No space left on device")
    making.put_in_line_if_due()
    assert not DBTaskResult.objects.ready().exists()
    Backup.objects.update(made_at=timezone.now() - timedelta(hours=2))
    making.put_in_line_if_due()
    call_command("work", batch=True)
    assert Backup.objects.filter(problem="").count() == 1


# Told when they are old


@pytest.fixture
def nightly(settings, tmp_path):
    settings.BACKUP_DIR = str(tmp_path)


@pytest.mark.parametrize(("days", "count"), [(1, 0), (3, 1)])
def test_who_looks_after_the_site_is_told_once_a_week(owner, maker, nightly, days, count):
    made = timezone.now() - timedelta(days=days)
    Backup.objects.create(made_at=made, checked_at=made, name="old")
    for _ in range(2):
        warn_of_old_backup()

    mails = list(Mail.objects.all())
    assert [mail.to for mail in mails] == [owner.user.email] * count
    assert all(f"{made:%Y-%m-%d}" in mail.text for mail in mails)

    Mail.objects.update(written_at=timezone.now() - timedelta(days=7, minutes=1))
    warn_of_old_backup()
    assert Mail.objects.count() == 2 * count


def test_an_administrator_is_told_and_not_the_owners_of_studios(owner, other_owner, nightly):
    admin = UserFactory(is_superuser=True)

    assert list(caretakers()) == [admin]
    admin.delete()
    assert list(caretakers()) == [owner.user]  # of the first studio


def test_without_a_folder_or_mail_nothing_is_said(owner, settings):
    assert warn_of_old_backup() is None
    settings.BACKUP_DIR, settings.SENDS_MAIL = "somewhere", False
    assert warn_of_old_backup() is None
