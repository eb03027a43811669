"""Two upgrades begun at once: one waits for the other and finds nothing to do."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

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
