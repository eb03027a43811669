"""Make a database of an older version in DATABASE_URL: ``python -m tests.upgrades.older VERSION``.

Its tables are made in one step, in the place of the minute that its migrations take; that these
come to the same is what `test_upgrades.py` is about.
"""

import sys

import django


def make(version):
    """Give an empty database the schema and the rows of a released version."""
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    from studio.backups import filling
    from tests.upgrades import stored

    told = stored.read(version)
    last = told["migrations"]
    graph = MigrationExecutor(connection).loader.graph
    seen = {}
    for app, name in sorted(graph.nodes):
        if app not in last or name <= last[app]:  # the migrations of each of ours are one line
            seen.setdefault(app, []).append(name)
    filling._build(seen)
    with connection.constraint_checks_disabled():
        for model in stored._models(MigrationExecutor(connection), list(last.items())):
            stored._fill(model, told["tables"][model._meta.label])
    connection.check_constraints()


if __name__ == "__main__":
    django.setup()
    make(sys.argv[1])
