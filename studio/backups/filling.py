"""An empty database filled from a backup."""

from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, models, transaction

from studio.backups import building, tables
from studio.backups.errors import BackupRefused
from studio.backups.reading import NEWER, Opened, opened

AT_ONCE = 500


def fill(path: Path) -> None:
    """Give the empty database of these settings what a backup holds, and bring it up to today.

    Every migration knows one database only, the one of the settings; so to fill another is a
    process of its own, see `restoring`.

    Raises `BackupRefused`, before anything is written, for a file that cannot be used and where
    the database has tables already.
    """
    with opened(path, settings.BACKUP_KEY) as backup:
        if tables.unknown(backup.migrations):
            raise BackupRefused(NEWER)
        if connection.introspection.table_names():
            raise BackupRefused(
                "The database of these settings is not empty. Nothing was changed. Say where the "
                "backup is to go with --into."
            )
        building.build(backup.migrations)
        models = tables.tables(backup.migrations, "default")
        _fill_tables(backup, [one for one in models if one._meta.label in backup.counts])
    call_command("migrate", verbosity=0, interactive=False)


@transaction.atomic
def _fill_tables(backup: Opened, models: list[type[models.Model]]) -> None:
    # References are looked at as the transaction ends, so the order of tables does not matter.
    with connection.cursor() as cursor:
        for model in models:
            names = [field.attname for field in tables.columns(model)]
            for heading, rows in backup.table(model._meta.label, AT_ONCE):
                if heading != names:
                    raise BackupRefused(f"{model._meta.label} has other columns in this backup.")
                tables.put_in(connection, model, rows)
        for statement in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)
