"""Django's own command, one at a time: a second waits, and finds nothing to do."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from typing import Any

from django.core.management.commands import migrate
from django.db import connection, connections

from studio.backups import building

# Of PostgreSQL's advisory locks, ours; any number that nobody else takes.
LOCK = 7_019_626_114
PATIENCE = 3600  # [s]


# What is asked for beside the newest schema, each to be done as Django does it.
ASKED = ("app_label", "plan", "check_unapplied", "fake", "fake_initial", "run_syncdb", "prune")


class Command(migrate.Command):
    def execute(self, *args: Any, **options: Any) -> str | None:
        # Before the checks, which open the database.
        _keep_to_its_owner(options["database"])
        return super().execute(*args, **options)

    def handle(self, *args: Any, **options: Any) -> None:
        with _alone(options["database"]):
            of_today = connection.alias == options["database"] and not any(map(options.get, ASKED))
            # One that is empty gets the tables of today in one step.
            if of_today and not connection.introspection.table_names():
                building.build(building.newest())
            super().handle(*args, **options)


def _keep_to_its_owner(using: str) -> None:
    """Make a new file, and so what SQLite puts beside it, one that its owner alone reads."""
    connection = connections[using]
    name = str(connection.settings_dict["NAME"])
    if connection.vendor == "sqlite" and ":memory:" not in name:
        with suppress(FileExistsError):
            os.close(os.open(name, os.O_CREAT | os.O_EXCL, 0o600))


@contextmanager
def _alone(using: str) -> Iterator[None]:
    """Hold, on a connection of its own, a lock that ends with the process that took it."""
    connection = connections[using]
    if connection.vendor == "postgresql":
        server = connection.copy("migrating")
        with closing(server), server.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_lock(%s)", [LOCK])
            yield
    elif ":memory:" in str(connection.settings_dict["NAME"]):
        yield
    else:
        # Not the file itself, whose own locks each migration takes and lets go.
        name = f"{connection.settings_dict['NAME']}-migrating"
        with closing(sqlite3.connect(name, timeout=PATIENCE, isolation_level=None)) as beside:
            beside.execute("BEGIN EXCLUSIVE")
            yield
