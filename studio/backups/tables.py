"""The tables of a schema as its migrations made it, and their values as text and back."""

import base64
from collections.abc import Iterator, Sequence
from typing import Any

from django.db import connections, models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.executor import MigrationExecutor

Migrations = dict[str, list[str]]
# A table with pictures in its rows is read a few rows at a time.
ROWS_AT_ONCE, PICTURES_AT_ONCE = 2000, 20


def applied(using: str) -> Migrations:
    """Return the names of the migrations that a database has seen, by app."""
    seen: Migrations = {}
    for app, name in MigrationExecutor(connections[using]).loader.applied_migrations:
        seen.setdefault(app, []).append(name)
    return {app: sorted(names) for app, names in sorted(seen.items())}


def unknown(migrations: Migrations) -> list[str]:
    """Return those of the migrations that this program does not have, as ``app.name``."""
    known = MigrationExecutor(connections["default"]).loader.disk_migrations
    return [
        f"{app}.{name}"
        for app, names in migrations.items()
        for name in names
        if (app, name) not in known
    ]


def newest(migrations: Migrations, using: str) -> list[tuple[str, str]]:
    """Return the last of the migrations in each line: those that none of the others follows."""
    graph = MigrationExecutor(connections[using]).loader.graph
    seen = {(app, name) for app, names in migrations.items() for name in names}
    return sorted(
        node
        for node in seen
        if node in graph.nodes
        and not any(
            child.key in seen and child.key[0] == node[0] for child in graph.node_map[node].children
        )
    )


def tables(migrations: Migrations, using: str) -> Iterator[type[models.Model]]:
    """Yield a model for each table that the migrations made, in a lasting order."""
    loader = MigrationExecutor(connections[using]).loader
    state = loader.project_state(newest(migrations, using))
    found = state.apps.get_models(include_auto_created=True)
    yield from sorted((one for one in found if _is_kept(one)), key=lambda one: one._meta.db_table)


def _is_kept(model: type[models.Model]) -> bool:
    return model._meta.managed and not model._meta.proxy


def columns(model: type[models.Model]) -> list["models.Field[Any, Any]"]:
    """Return the fields of a table that have a column of their own."""
    return list(model._meta.local_concrete_fields)


def rows(model: type[models.Model], using: str) -> Iterator[list[Any]]:
    """Yield the rows of a table, each as values that JSON can hold."""
    fields = columns(model)
    has_bytes = any(isinstance(field, models.BinaryField) for field in fields)
    query = (
        model._base_manager.using(using)
        .order_by("pk")
        .values_list(*(field.attname for field in fields))
    )
    for row in query.iterator(PICTURES_AT_ONCE if has_bytes else ROWS_AT_ONCE):
        yield [
            base64.b64encode(value).decode() if isinstance(value, bytes | memoryview) else value
            for value in row
        ]


def put_in(
    connection: BaseDatabaseWrapper, model: type[models.Model], told: Sequence[Sequence[Any]]
) -> None:
    """Write rows as `rows` gave them, with their keys and moments as they were."""
    fields = columns(model)
    quote = connection.ops.quote_name
    names = ", ".join(quote(str(field.column)) for field in fields)
    places = ", ".join(["%s"] * len(fields))
    statement = f"INSERT INTO {quote(model._meta.db_table)} ({names}) VALUES ({places})"
    values = [
        [
            field.get_db_prep_save(_value(field, one), connection)
            for field, one in zip(fields, row, strict=True)
        ]
        for row in told
    ]
    with connection.cursor() as cursor:
        cursor.executemany(statement, values)


def _value(field: "models.Field[Any, Any]", told: Any) -> Any:
    if told is None or isinstance(field, models.JSONField):
        return told
    if isinstance(field, models.BinaryField):
        return base64.b64decode(told)
    return field.to_python(told)
