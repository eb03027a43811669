"""The tables of an empty database, as they stood after some migrations, made in one step.

To make and change each many times, as the migrations did, takes ten times as long. None of them
puts rows into a database that has none.
"""

from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

from studio.backups import tables


def newest() -> tables.Migrations:
    """Return all migrations that there are, of an empty database, by app."""
    executor = MigrationExecutor(connection)
    found: tables.Migrations = {}
    for migration, _ in executor.migration_plan(executor.loader.graph.leaf_nodes()):
        found.setdefault(migration.app_label, []).append(migration.name)
    return found


def build(migrations: tables.Migrations) -> None:
    """Make the tables as they stood after these migrations, and note these as done, or nothing."""
    recorder = MigrationRecorder(connection)
    with connection.schema_editor() as editor:
        for model in tables.tables(migrations, "default"):
            if not model._meta.auto_created:  # those come with the model that needs them
                editor.create_model(model)
        editor.create_model(recorder.Migration)
        for app, names in migrations.items():
            for name in names:
                recorder.record_applied(app, name)
