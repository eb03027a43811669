"""The first commands of docs/running.md, with PostgreSQL as the page has it."""

import json
from contextlib import ExitStack

import psycopg
import pytest
from django.db import connection

from tests.running import page
from tests.running.machine import Machine, is_debian
from tests.running.test_running import OWNER, YOURS, eventually, health, is_up

pytestmark = [
    pytest.mark.database,
    pytest.mark.postgres,
    pytest.mark.skipif(not is_debian(), reason="the page is for Debian, with openssl"),
]
NAME = "pourwright_running"


@pytest.fixture
def server():
    """Yield the address of an empty database of its own."""
    own = connection.settings_dict
    where = {"host": own["HOST"], "port": own["PORT"], "user": own["USER"], "dbname": "postgres"}
    with psycopg.connect(**where, autocommit=True) as rows:
        rows.execute(f"DROP DATABASE IF EXISTS {NAME} WITH (FORCE)")
        rows.execute(f"CREATE DATABASE {NAME}")
        yield f"postgres://{own['USER']}@{own['HOST']}:{own['PORT'] or 5432}/{NAME}"
        rows.execute(f"DROP DATABASE {NAME} WITH (FORCE)")


def test_a_site_is_set_up_and_served(server, tmp_path):
    answers = {"DATABASE_URL": server, "EMAIL_URL": "smtp://127.0.0.1:9"}
    machine = Machine.made(tmp_path / "machine", json.dumps(answers))
    with ExitStack() as over:
        over.callback(machine.stop)

        said = machine.type(*page.commands(page.FIRST), words=YOURS)

        eventually(lambda: is_up(machine))
        status, told = health(machine)
        assert (status, told["ready"]) == (200, True), told
        assert "room_for_data" not in told  # it lies with PostgreSQL
        assert f"{OWNER} chooses a password" in said
        machine.type("systemctl stop pourwright pourwright-worker")
    assert not (machine.data / "studio.sqlite3").exists()
