"""A filled database of a released version as one small file, for SQLite and PostgreSQL alike.

The file holds the migrations that its schema was made by and the rows, table by table, with the
values as text; so it is read into the schema of its own version, on any database, and migrated
from there.
"""

import base64
import gzip
import json
from pathlib import Path

from django.core.management.color import no_style
from django.core.serializers.json import DjangoJSONEncoder
from django.db import connection, models
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

FOLDER = Path(__file__).parent
OURS = ("studio", "inventory", "pricing")


def path_of(version):
    """Return where the database of a version lies."""
    return FOLDER / f"{version}.json.gz"


def released():
    """Return the versions whose databases lie here, oldest first."""
    names = (path.name.removesuffix(".json.gz") for path in FOLDER.glob("*.json.gz"))
    return sorted(names, key=lambda name: [int(part) for part in name.split(".")])


def dump(version):
    """Write the database, which must be migrated to the newest schema, as that of a version."""
    executor = MigrationExecutor(connection)
    targets = [node for node in executor.loader.graph.leaf_nodes() if node[0] in OURS]
    told = {"migrations": dict(targets), "tables": {}}
    for model in _models(executor, targets):
        fields = model._meta.local_concrete_fields
        rows = model._base_manager.order_by("pk").values_list(*(one.attname for one in fields))
        told["tables"][model._meta.label] = {
            "columns": [one.attname for one in fields],
            "rows": [[_told(value) for value in row] for row in rows],
        }
    text = json.dumps(told, cls=DjangoJSONEncoder, ensure_ascii=False, indent=0)
    # Without a date of its own, so that the same database is the same file.
    path_of(version).write_bytes(gzip.compress(text.encode(), 9, mtime=0))


def read(version):
    """Return {"migrations": {app: name}, "tables": {model: {"columns", "rows"}}}."""
    return json.loads(gzip.decompress(path_of(version).read_bytes()))


def load(version):
    """Give an empty database the schema of a version, and its rows."""
    told = read(version)
    executor = MigrationExecutor(connection)
    # What is not ours is wanted as it is today.
    others = [node for node in executor.loader.graph.leaf_nodes() if node[0] not in OURS]
    targets = list(told["migrations"].items())
    executor.migrate(others)
    executor = MigrationExecutor(connection)
    executor.migrate(targets)
    with connection.constraint_checks_disabled():
        for model in _models(executor, targets):
            _fill(model, told["tables"][model._meta.label])
    connection.check_constraints()


def migrated():
    """Return {app: names} of our migrations that the database has seen."""
    seen = MigrationRecorder(connection).applied_migrations()
    return {app: {name for owner, name in seen if owner == app} for app in OURS}


def _models(executor, targets):
    """Return the models as they were, ours and the people, each after those that it names."""
    apps = executor.loader.project_state(targets).apps
    ours = [one for one in apps.get_models() if one._meta.app_label in OURS]
    return [apps.get_model("auth", "User"), *_in_order(ours)]


def _in_order(ours):
    ordered, left = [], list(ours)
    while left:
        ready = [
            one
            for one in left
            if not {field.related_model for field in one._meta.local_fields if field.is_relation}
            & (set(left) - {one})
        ]
        ordered += ready
        left = [one for one in left if one not in ready]
    return ordered


def _fill(model, table):
    fields = {field.attname: field for field in model._meta.local_concrete_fields}
    for field in fields.values():  # a clock would write over what was kept
        field.auto_now = field.auto_now_add = False
    rows = []
    for told in table["rows"]:
        values = zip(table["columns"], told, strict=True)
        rows.append(model(**{name: _value(fields[name], value) for name, value in values}))
    model._base_manager.bulk_create(rows)
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), [model]):
            cursor.execute(statement)


def _told(value):
    return base64.b64encode(value).decode() if isinstance(value, bytes | memoryview) else value


def _value(field, told):
    if told is None or field.is_relation or isinstance(field, models.JSONField):
        return told
    if isinstance(field, models.BinaryField):
        return base64.b64decode(told)
    return field.to_python(told)
