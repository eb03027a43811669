"""Years of a studio in a moment: what it did in a week, written down once more for weeks before.

What is counted is how much is read for a page, whatever the machine: the rows that come to the
program, and on SQLite the steps that the database takes for them.
"""

from contextlib import contextmanager
from datetime import timedelta
from functools import partial
from types import SimpleNamespace

from django.db import connection

from inventory.models import Entry, Movement
from pricing.models import FinishedPiece, PieceSet, Posting, Pour, Sale, SaleLine

STEPS = 1  # of the machine that SQLite runs a question on, between two looks


def lived(studio, weeks):
    """Write the pours, sets and sales of a studio again for so many weeks before.

    What is cached of stock is left alone: the books are not for proving then.
    """
    rows = {
        model: list(model._base_manager.filter(studio=studio))
        for model in (Entry, Movement, Pour, FinishedPiece, PieceSet, Sale, Posting)
    }
    rows[SaleLine] = list(SaleLine.objects.filter(sale__studio=studio))
    for ago in range(1, weeks + 1):
        made = {}

        def copy(model, *moments, ago=ago, made=made, **named):
            old, new = rows[model], []
            for row in old:
                values = {one.attname: getattr(row, one.attname) for one in model._meta.fields}
                del values["id"]
                for name in moments:
                    values[name] -= timedelta(days=7 * ago)
                for name, of in named.items():
                    values[name] = made[of].get(values[name])
                if "number" in values and model is not FinishedPiece:
                    values["number"] += 1_000 * ago
                new.append(model(**values))
            keys = [row.pk for row in model._base_manager.bulk_create(new)]
            made[model] = dict(zip([row.pk for row in old], keys, strict=True))

        copy(Entry, "happened_at", "booked_on", "recorded_at")
        copy(Movement, entry_id=Entry)
        copy(Pour, "poured_at", entry_id=Entry)
        copy(PieceSet, "made_on", entry_id=Entry)
        copy(FinishedPiece, pour_id=Pour, piece_set_id=PieceSet)
        copy(Sale, "sold_on")
        copy(SaleLine, sale_id=Sale, piece_set_id=PieceSet)
        copy(Posting, "day", line_id=SaleLine, pour_id=Pour, piece_set_id=PieceSet)


@contextmanager
def reading():
    """Yield what is read meanwhile: ``rows`` fetched, and ``steps`` of SQLite, else none."""
    read = SimpleNamespace(rows=0, steps=0)
    create = connection.create_cursor
    connection.create_cursor = lambda *args, **options: _Counting(create(*args, **options), read)
    is_sqlite = connection.vendor == "sqlite"
    try:
        if is_sqlite:
            connection.connection.set_progress_handler(partial(_step, read), STEPS)
        yield read
    finally:
        if is_sqlite:
            connection.connection.set_progress_handler(None, 0)
        del connection.create_cursor


def _step(read):
    read.steps += STEPS


class _Counting:
    """A database cursor that counts the rows fetched through it."""

    def __init__(self, cursor, read):
        self._cursor, self._read = cursor, read

    def __getattr__(self, name):
        return getattr(self._cursor, name)

    def __iter__(self):
        for row in self._cursor:
            self._read.rows += 1
            yield row

    def fetchone(self):
        row = self._cursor.fetchone()
        self._read.rows += row is not None
        return row

    def fetchmany(self, *args, **options):
        rows = self._cursor.fetchmany(*args, **options)
        self._read.rows += len(rows)
        return rows

    def fetchall(self):
        rows = self._cursor.fetchall()
        self._read.rows += len(rows)
        return rows
