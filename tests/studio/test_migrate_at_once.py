"""An empty database made in one step, and two upgrades begun at once."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.contrib.auth.models import Permission
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

from studio.models import Studio
from tests.schema import schema_of
from tests.upgrades.test_upgrades import empty_database  # noqa: F401  (a fixture)

ROOT = Path(__file__).parent.parent.parent


@pytest.mark.database
def test_two_migrations_at_once_wait_for_each_other(empty_database):  # noqa: F811  (the fixture)
    own = connection.settings_dict
    url = (
        f"sqlite:///{own['NAME']}"
        if connection.vendor == "sqlite"
        else f"postgres://{own['USER']}@{own['HOST']}:{own['PORT']}/{own['NAME']}"
    )
    told = os.environ | {"DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "studio.settings"}
    migrate = [sys.executable, "manage.py", "migrate", "auth", "--no-input"]
    both = [
        subprocess.Popen(
            migrate, cwd=ROOT, env=told, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        for _ in range(2)
    ]
    said = [one.communicate()[0] for one in both]
    assert [one.returncode for one in both] == [0, 0], said
    assert sorted("No migrations to apply" in one for one in said) == [False, True]


@pytest.mark.django_db(transaction=True)
def test_an_empty_database_gets_what_the_migrations_would_have_made(
    empty_database,  # noqa: F811  (the fixture)
):
    call_command("migrate", verbosity=0)

    call_command("migrate", check_unapplied=True, verbosity=0)
    with connection.cursor() as cursor:
        assert schema_of(cursor, connection.vendor) == empty_database
    every = MigrationExecutor(connection).loader.disk_migrations
    assert set(MigrationRecorder(connection).applied_migrations()) == set(every)
    assert Permission.objects.filter(codename="view_studio").exists()
    assert not Studio.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_what_stops_half_way_leaves_an_empty_database(
    empty_database,  # noqa: F811  (the fixture)
    monkeypatch,
):
    def stops(self, app, name):
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(MigrationRecorder, "record_applied", stops)
        with pytest.raises(KeyboardInterrupt):
            call_command("migrate", verbosity=0)

    assert connection.introspection.table_names() == []


@pytest.mark.django_db(transaction=True)
def test_one_app_is_brought_as_far_as_is_asked(empty_database):  # noqa: F811  (the fixture)
    call_command("migrate", "contenttypes", "0001", verbosity=0)

    assert set(MigrationRecorder(connection).applied_migrations()) == {
        ("contenttypes", "0001_initial")
    }
