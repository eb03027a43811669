"""A backup written while others go on working."""

import json
import os
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import IO

from django.core.serializers.json import DjangoJSONEncoder
from django.db import connections, models, transaction

from studio.backups import tables

FORMAT = 1
SNAPSHOT = "snapshot"
MANIFEST = "manifest.json"


def write(path: Path) -> None:
    """Write the database as it stands at one moment into a new file that its owner alone reads.

    Nobody waits for it: SQLite's log and PostgreSQL keep that moment for whoever began to read.
    """
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive, _snapshot() as using:
            migrations = tables.applied(using)
            there, counts = connections[using].introspection.table_names(), {}
            for model in tables.tables(migrations, using):
                if model._meta.db_table not in there:  # one that ours takes the place of
                    continue
                with archive.open(f"{model._meta.label}.jsonl", "w", force_zip64=True) as member:
                    counts[model._meta.label] = _write_table(model, using, member)
            told = {
                "format": FORMAT,
                "made_at": datetime.now(UTC).isoformat(timespec="seconds"),
                "migrations": migrations,
                "rows": counts,
            }
            archive.writestr(MANIFEST, json.dumps(told, indent=1))
        file.flush()
        os.fsync(file.fileno())


def _write_table(model: type[models.Model], using: str, member: IO[bytes]) -> int:
    heading = [field.attname for field in tables.columns(model)]
    member.write(_line(heading))
    count = 0
    for row in tables.rows(model, using):
        member.write(_line(row))
        count += 1
    return count


def _line(values: Sequence[object]) -> bytes:
    return json.dumps(values, cls=Exact, ensure_ascii=False).encode() + b"\n"


class Exact(DjangoJSONEncoder):
    """Moments to the microsecond, which the encoder of the base cuts to milliseconds."""

    def default(self, value: object) -> object:
        return value.isoformat() if isinstance(value, datetime) else super().default(value)


@contextmanager
def _snapshot() -> Iterator[str]:
    """Open a second connection that sees the database as it is now, whatever is written on."""
    connection = connections["default"].copy(SNAPSHOT)
    is_file = connection.vendor == "sqlite"
    if is_file:  # ours locks from the start, which would keep every writer waiting
        options = connection.settings_dict["OPTIONS"] | {"transaction_mode": "DEFERRED"}
        connection.settings_dict["OPTIONS"] = options
    connections[SNAPSHOT] = connection
    try:
        with transaction.atomic(using=SNAPSHOT):
            if not is_file:
                with connection.cursor() as cursor:
                    cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield SNAPSHOT
    finally:
        connection.close()
        del connections[SNAPSHOT]
