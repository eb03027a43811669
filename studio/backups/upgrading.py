"""Data brought up to today, with a backup of how they were."""

from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from studio.backups import making, restoring, tables
from studio.backups.errors import BackupRefused

NEWER = (
    "These data were last used by a newer Pourwright than this one, which does not know all that "
    "is in them. Nothing was changed. Start that newer one, or a later one."
)


@dataclass(frozen=True)
class Upgrade:
    """Whether anything changed, and the backup that was made before, if there were data."""

    changed: bool
    backup: Path | None


def bring_up_to_date() -> Upgrade:
    """Make the changes of the schema that wait; data that are there are backed up before.

    The backup is proved by bringing it back and up to today, so that what cannot be upgraded is
    found out on a copy.

    Raises `BackupRefused`, with nothing changed, for data of a newer program and where the backup
    does not come back; `OSError` where it cannot be written.
    """
    seen = _seen()
    if tables.unknown(seen):
        raise BackupRefused(NEWER)
    if not _is_behind():
        return Upgrade(False, None)
    written = None
    folder = Path(settings.BACKUP_DIR or settings.DATA_DIR / "backups")
    if seen:
        written = making.write_into(folder, restoring.comes_back)
        if written.problem:
            raise BackupRefused(
                "These data could not be brought up to this version, as was tried on a copy. Your "
                "data were not changed; go on with the version you had. It said last: "
                f"{written.problem.splitlines()[-1]}"
            )
    call_command("migrate", interactive=False, verbosity=0)
    if written is None:
        return Upgrade(True, None)
    making.note(written, checked=True)
    return Upgrade(True, folder / written.name)


def _seen() -> tables.Migrations:
    is_new = "django_migrations" not in connection.introspection.table_names()
    return {} if is_new else tables.applied("default")


def _is_behind() -> bool:
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
