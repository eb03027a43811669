"""Two databases of one studio each, alike but for how much has moved: built by the database itself.

5,000 bottles of 60 materials hold what their movements add up to. An entry moves five bottles of
five materials. Every material is used on the same days in both, so that what differs is how much
has been written; ``half_years`` spreads the same movements over so many half years back from today.
"""

import shutil
from contextlib import contextmanager
from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path

from django.db import connection, connections

from inventory.models import Bottle, Material
from inventory.stock.shelf import month_ends
from tests.factories.inventory import MaterialFactory, PackFactory, SupplierFactory
from tests.factories.studio import MembershipFactory, StudioFactory

MATERIALS, BOTTLES, IN_AN_ENTRY = 60, 5_000, 5
HALF_YEAR_DAYS = 168  # within the 180 days that demand looks back on
FULL_ML, USED_ML, WORTH = Decimal(1_000), Decimal(2), Decimal("0.05")  # a mL is worth WORTH
D = Decimal

# One lap moves each bottle once; its first is the delivery. Entries of a lap share their days with
# those of every other lap, half a year or more apart.
ENTRIES = """
INSERT INTO inventory_entry (id, studio_id, happened_at, booked_on, recorded_at, why, purpose)
SELECT n, {studio}, {moment}, date({moment}), {moment}, '', 'Pour ' || n FROM {numbers}
"""
MOVEMENTS = """
INSERT INTO inventory_movement (studio_id, entry_id, bottle_id, material_id, kind, quantity, value)
SELECT {studio}, n / {in_an_entry} + 1, {bottle} + n % {bottles},
    {material} + n % {bottles} % {materials},
    CASE WHEN n < {bottles} THEN 'receipt' ELSE 'use' END,
    CASE WHEN n < {bottles} THEN {full} ELSE -{used} END,
    CASE WHEN n < {bottles} THEN {full} * {worth} ELSE -{used} * {worth} END
FROM {numbers}
"""
DAYS = """
INSERT INTO inventory_dayuse (studio_id, material_id, day, quantity)
SELECT {studio}, material_id, {date}, -SUM(quantity)
FROM inventory_movement JOIN inventory_entry ON inventory_entry.id = entry_id
WHERE kind = 'use' GROUP BY material_id, {date}
"""
DIALECTS = {
    "postgresql": {
        "numbers": "generate_series({first}, {last}) AS n",
        "moment": "TIMESTAMPTZ '{start}' + ({days}) * INTERVAL '1 day'",
        "date": "(happened_at AT TIME ZONE 'UTC')::date",
    },
    "sqlite": {
        "numbers": (
            "(WITH RECURSIVE counted(n) AS (SELECT {first} UNION ALL SELECT n + 1 FROM counted "
            "WHERE n < {last}) SELECT n FROM counted)"
        ),
        "moment": "datetime('{start}', '+' || ({days}) || ' days')",
        "date": "date(happened_at)",
    },
}


class Database:
    """A database of its own with so many movements, in place of the default one while it is `on`.

    It is a copy of the tests' empty database; on SQLite a file written with the product's settings.
    """

    def __init__(self, folder, movements, half_years=1):
        self.name = f"scale_{movements}_{half_years}"
        plain = connections["default"]
        self.is_sqlite = plain.vendor == "sqlite"
        facts = dict(plain.settings_dict)
        if self.is_sqlite:
            facts["NAME"] = str(Path(folder) / f"{self.name}.sqlite3")
            facts["OPTIONS"] = facts["OPTIONS"] | {
                "init_command": facts["OPTIONS"]["init_command"].replace(
                    "synchronous=OFF", "synchronous=FULL"
                )
            }
            with plain.cursor() as cursor:
                cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            plain.close()
            shutil.copy(plain.settings_dict["NAME"], facts["NAME"])
        else:
            template = facts["NAME"]
            facts["NAME"] = f"{template}_{self.name}"
            plain.close()
            with plain._nodb_cursor() as cursor:
                cursor.execute(f'DROP DATABASE IF EXISTS "{facts["NAME"]}"')
                cursor.execute(f'CREATE DATABASE "{facts["NAME"]}" TEMPLATE "{template}"')
        self.connection = type(plain)(facts, "default")
        with self.on():
            self.studio = build(movements, half_years)

    @contextmanager
    def on(self):
        """Let all that asks the default database ask this one."""
        plain = connections["default"]
        connections["default"] = self.connection
        try:
            yield self
        finally:
            connections["default"] = plain

    def drop(self):
        self.connection.close()
        if self.is_sqlite:
            return
        with connections["default"]._nodb_cursor() as cursor:
            cursor.execute(f'DROP DATABASE "{self.connection.settings_dict["NAME"]}"')


def build(movements, half_years):
    """Fill the empty default database; return its studio."""
    studio = StudioFactory()
    MembershipFactory(studio=studio)
    supplier = SupplierFactory(studio=studio)
    materials = [MaterialFactory(studio=studio) for _ in range(MATERIALS)]
    for material in materials:
        PackFactory(studio=studio, material=material, supplier=supplier)
    today = studio.today()
    laps, rest = divmod(movements - BOTTLES, BOTTLES)
    assert not rest
    left = FULL_ML - laps * USED_ML
    first = today - timedelta(days=HALF_YEAR_DAYS * half_years)
    bottles = [
        Bottle(
            studio=studio,
            material=materials[n % MATERIALS],
            code=f"B{n:04}",
            capacity=FULL_ML,
            remaining=left,
            value=left * WORTH,
            received_on=first,
            opened_on=first,
        )
        for n in range(BOTTLES)
    ]
    Bottle.objects.bulk_create(bottles)
    for material in materials:
        of_it = sum(1 for bottle in bottles if bottle.material_id == material.pk)
        material.on_hand, material.value = of_it * left, of_it * left * WORTH
    Material.objects.bulk_update(materials, ["on_hand", "value"])
    _write(studio, bottles[0].pk, materials[0].pk, movements, half_years)
    month_ends.fill(studio)
    return studio


def _write(studio, bottle, material, movements, half_years):
    sql = DIALECTS[connection.vendor]
    lap = BOTTLES // IN_AN_ENTRY
    start = datetime.combine(studio.today(), time(12), UTC) - timedelta(
        days=HALF_YEAR_DAYS * half_years - 1
    )
    # Twelve entries move all sixty materials; then it is two days later. The deliveries, lap 0, are
    # in the first half year; the laps of use go back from the last, so that any history has one.
    days = (
        f"(n - 1) % {lap} / 12 * 2 + ({half_years - 1} "
        f"- ((n - 1) / {lap} + {half_years - 1}) % {half_years}) * {HALF_YEAR_DAYS}"
    )
    entries = movements // IN_AN_ENTRY
    facts = {
        "studio": studio.pk,
        "in_an_entry": IN_AN_ENTRY,
        "bottle": bottle,
        "bottles": BOTTLES,
        "material": material,
        "materials": MATERIALS,
        "full": FULL_ML,
        "used": USED_ML,
        "worth": WORTH,
        "date": sql["date"],
        "moment": sql["moment"].format(start=f"{start:%Y-%m-%d %H:%M:%S}", days=days),
    }
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":  # foreign keys are right by construction
            cursor.execute("SET session_replication_role = replica")
        else:
            cursor.execute("PRAGMA foreign_keys=OFF")
            cursor.execute("PRAGMA synchronous=OFF")
            cursor.execute("PRAGMA cache_size=-400000")
        indexes = _without_indexes(cursor)
        cursor.execute(
            ENTRIES.format(numbers=sql["numbers"].format(first=1, last=entries), **facts)
        )
        cursor.execute(
            MOVEMENTS.format(numbers=sql["numbers"].format(first=0, last=movements - 1), **facts)
        )
        cursor.execute(DAYS.format(**facts))
        for index in indexes:
            cursor.execute(index)
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT setval(pg_get_serial_sequence('inventory_entry', 'id'), %s)", [entries]
            )
            cursor.execute("VACUUM ANALYZE")  # as it does by itself in time
        else:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()  # with what was set for the building


def _without_indexes(cursor):
    """Take the indexes off what is about to be filled; return the statements that make them."""
    tables = "('inventory_entry', 'inventory_movement')"
    if connection.vendor == "postgresql":
        cursor.execute(
            "SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = 'public' AND tablename "
            f"IN {tables} AND indexname NOT IN (SELECT conname FROM pg_constraint)"
        )
    else:
        cursor.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL "
            f"AND tbl_name IN {tables}"
        )
    found = cursor.fetchall()
    for name, _ in found:
        cursor.execute(f'DROP INDEX "{name}"')
    return [made for _, made in found]
