"""One command brings a maker's data up to today, and keeps how they were."""

import os
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from tests.upgrades import stored

ROOT = Path(__file__).parent.parent.parent
NEWEST = stored.released()[-1]


@pytest.fixture
def run(tmp_path):
    """Run Python on a database of its own, as somebody at the keyboard would."""
    settings = {
        "DATABASE_URL": f"sqlite:///{tmp_path / 'studio.sqlite3'}",
        "DATA_DIR": str(tmp_path),
        "BACKUP_DIR": str(tmp_path / "backups"),
        "DJANGO_SETTINGS_MODULE": "studio.settings",
    }

    def run(*command):
        return subprocess.run(
            [sys.executable, *command],
            cwd=ROOT,
            env=os.environ | settings,
            capture_output=True,
            text=True,
            encoding="utf-8",
        )

    return run


@pytest.fixture
def older(run, tmp_path):
    """The file of a database before the changes of the schema that came after the last release."""
    made = run("-m", "tests.running.older", NEWEST)
    assert made.returncode == 0, made.stderr
    with closing(sqlite3.connect(tmp_path / "studio.sqlite3")) as file:
        # Where nothing came after it yet, the last one is taken back, which changes no table.
        file.execute("DELETE FROM django_migrations WHERE app = 'auth' AND name LIKE '0012%'")
        file.commit()
    return tmp_path / "studio.sqlite3"


def told(file):
    with closing(sqlite3.connect(file)) as read:
        return list(read.iterdump())


@contextmanager
def changed(file, *statements):
    """Let a change stand in a database for a while, as a newer program or a bad disk made it."""
    with closing(sqlite3.connect(file)) as before, closing(sqlite3.connect(":memory:")) as kept:
        before.backup(kept)
        for statement in statements:
            before.execute(statement)
        before.commit()
        yield
        kept.backup(before)


def refused(run, file):
    """Return what is said where nothing is upgraded, and nothing was changed."""
    before = told(file)
    answer = run("manage.py", "update")
    assert (answer.returncode, answer.stdout, told(file)) == (1, "", before)
    assert "Traceback" not in answer.stderr
    return answer.stderr


def test_data_are_upgraded_with_a_backup_or_left_alone(run, older, tmp_path):
    backups = tmp_path / "backups"

    to_come = "INSERT INTO django_migrations VALUES (NULL, 'studio', '9999_to_come', '2030-01-01')"
    with changed(older, to_come):
        assert "last used by a newer Pourwright" in refused(run, older)
        assert not backups.exists()
    backups.write_text("a file where the folder should be")
    assert "backups" in refused(run, older)
    backups.unlink()
    # A row that no constraint lets in.
    with changed(older, "UPDATE inventory_bottle SET material_id = 999999"):
        assert "not changed; go on with the version you had" in refused(run, older)
        assert len(list(backups.iterdir())) == 1

    first = run("manage.py", "update")
    again = run("manage.py", "update")

    backup = max(backups.iterdir())
    assert (first.returncode, first.stderr) == (0, "")
    assert str(backup) in first.stdout
    assert (again.returncode, again.stdout) == (0, "")
    assert stat.S_IMODE(backup.stat().st_mode) == 0o600
    assert "The books agree" in run("manage.py", "check_books").stdout
    with closing(sqlite3.connect(older)) as read:
        assert (backup.name, "") in read.execute("SELECT name, problem FROM studio_backup")


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such permissions")
def test_a_new_database_is_for_its_owner_only(tmp_path):
    """Made by the command of the lock that migrations wait for; it needs none of them to be run."""
    file = tmp_path / "new.sqlite3"
    asked = [sys.executable, "manage.py", "migrate", "contenttypes", "--verbosity=0"]
    made = subprocess.run(
        asked,
        cwd=ROOT,
        env=os.environ
        | {"DATABASE_URL": f"sqlite:///{file}", "DJANGO_SETTINGS_MODULE": "studio.settings"},
    )

    assert made.returncode == 0
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
