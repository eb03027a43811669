"""A filled database of a released version, made in a moment.

``python -m tests.running.older VERSION`` fills the empty database of ``DATABASE_URL``. Its tables
are made as the migrations of that version left them, in one step.
"""

import sys

import django


def main(version):
    django.setup()

    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    from studio.backups import building
    from tests.upgrades import stored

    told = stored.read(version)
    executor = MigrationExecutor(connection)
    others = [node for node in executor.loader.graph.leaf_nodes() if node[0] not in stored.OURS]
    targets = [*others, *told["migrations"].items()]
    done = {}
    for migration, _ in executor.migration_plan(targets):
        done.setdefault(migration.app_label, []).append(migration.name)
    building.build(done)
    with connection.constraint_checks_disabled():
        for model in stored._models(
            MigrationExecutor(connection), list(told["migrations"].items())
        ):
            stored._fill(model, told["tables"][model._meta.label])
    connection.check_constraints()


if __name__ == "__main__":
    main(sys.argv[1])
