"""How the site stands, for whoever watches over it: whether what it needs is there."""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, InterfaceError, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from studio.jobs import LATE

LEAST_FREE = 100_000_000  # [B]
MOST_COUNTED = 1000

GONE = "The database does not answer. See that it is up and that DATABASE_URL is right."
OLDER = "The database is of an older program. Run manage.py set_up, which brings it up to today."
UP_TO_DATE = "The database answers and is up to date."


@dataclass(frozen=True)
class Finding:
    """What was found of one thing: a sentence, whether all is well, and whether pages can be."""

    name: str
    words: str
    is_well: bool = True
    serves: bool = True


def findings() -> list[Finding]:
    """Return what there is to say of database, disk and worker, in three queries at most."""
    try:
        if unapplied():
            found = [Finding("database", OLDER, is_well=False, serves=False)]
        else:
            found = [Finding("database", UP_TO_DATE), _work()]
    except (DatabaseError, InterfaceError):
        found = [Finding("database", GONE, is_well=False, serves=False)]
    return [*found, *_room()]


def unapplied() -> list[tuple[str, str]]:
    """Return the newest migration of each app, as (app, name), that the database has not seen."""
    applied = MigrationRecorder(connection).applied_migrations()
    return [one for one in _newest() if one not in applied]


@cache
def _newest() -> list[tuple[str, str]]:
    return [(app, name) for app, name in MigrationLoader(None).graph.leaf_nodes()]


def _work() -> Finding:
    ready = DBTaskResult.objects.ready().order_by("enqueued_at")
    waiting = list(ready.values_list("enqueued_at", flat=True)[:MOST_COUNTED])
    if not waiting:
        return Finding("work", "No job waits.")
    number = f"{MOST_COUNTED} or more" if len(waiting) == MOST_COUNTED else str(len(waiting))
    jobs = f"{number} {'job waits' if len(waiting) == 1 else 'jobs wait'}"
    if timezone.now() - waiting[0] <= LATE:
        return Finding("work", f"{jobs}, none for long.")
    minutes = LATE // timedelta(minutes=1)
    words = (
        f"{jobs}, the first for more than {minutes} minutes. See that manage.py work is running."
    )
    return Finding("work", words, is_well=False)


def _room() -> Iterator[Finding]:
    """Yield whether there is room on each disk that something is kept on."""
    places = {"pictures": Path(settings.MEDIA_ROOT)}
    if connection.vendor == "sqlite":
        places["data"] = Path(connection.settings_dict["NAME"]).parent
    if settings.BACKUP_DIR:
        places["backups"] = Path(settings.BACKUP_DIR)
    for name, folder in sorted(places.items()):
        there = next(
            path for path in (folder.absolute(), *folder.absolute().parents) if path.is_dir()
        )
        if shutil.disk_usage(there).free >= LEAST_FREE:
            yield Finding(f"room_for_{name}", f"There is room for {name}.")
            continue
        words = f"Less than {LEAST_FREE // 1_000_000} MB are free where {name} are kept. Make room."
        yield Finding(f"room_for_{name}", words, is_well=False, serves=name == "backups")
