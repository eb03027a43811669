"""A million movements beside ten thousand, and a use beside the bare statements it needs.

The floor of a page, a low-stock check or a use at a million movements is the same at ten thousand,
on the same 5,000 bottles, whether all of it falls within the half year that demand looks back on or
is spread over ten years. The floor of a use is the SQL it needs through a bare cursor: the same
locks, reads, writes and commit, with the bottle and the numbers known beforehand.
"""

import json

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.utils import timezone

from inventory.buying.alerts import alerts
from inventory.buying.replacing import renew
from inventory.stock import books
from inventory.stock import ledger as stock
from tests.benchmarks.scale import D, Database
from tests.benchmarks.turns import measured

FEW, MANY = 10_000, 1_000_000
ROUNDS = 30
TURNS_OF_USE = 300  # it is short
HALF_YEARS = {"within half a year": 1, "over ten years": 20}
MOST_GROWN, MOST_OVER_BARE = 1.3, 4
pytestmark = [
    pytest.mark.benchmark,
    pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS),
]


def page(address):
    return lambda database: database.client.get(address).status_code == 200 or pytest.fail(address)


def low_stock(database):
    alerts(database.studio)


def use(database):
    stock.use(studio=database.studio, by=None, amounts={database.material: D(1)})


def bare_use(database):
    """Write what a use writes, and read what it must read, through a bare cursor.

    It reads under the lock what a use decides by: the amounts, the costing method and time zone of
    the studio, the first bottles in the order of use, what is promised to others; and, once it is
    committed, whether a renewal of what materials cost to replace waits already.
    """
    lock = "" if connection.vendor == "sqlite" else " FOR UPDATE"
    studio, material = database.studio.pk, database.material.pk
    now, day = timezone.now(), database.studio.today()
    with connection.cursor() as cursor:
        ask = cursor.execute
        ask("BEGIN IMMEDIATE" if connection.vendor == "sqlite" else "BEGIN")
        ask(f"SELECT id, on_hand, value FROM inventory_material WHERE id = %s{lock}", [material])
        _, on_hand, value = cursor.fetchone()
        ask(
            "SELECT costing, costing_next, costing_next_from, run_off_value, time_zone "
            "FROM studio_studio WHERE id = %s",
            [studio],
        )
        cursor.fetchone()
        ask(
            "SELECT id, code, remaining, value, received_on, opened_on, expires_on, archived_at "
            "FROM inventory_bottle WHERE material_id = %s AND remaining > 0 "
            f"ORDER BY expires_on NULLS LAST, received_on, id LIMIT 2{lock}",
            [material],
        )
        bottle, _, remaining, worth, *_ = cursor.fetchall()[0]
        ask(
            "SELECT work_id, label, quantity, used FROM inventory_hold "
            "WHERE material_id = %s AND released_at IS NULL ORDER BY created_at, id",
            [material],
        )
        cursor.fetchall()
        ask(
            "INSERT INTO inventory_entry "
            "(studio_id, happened_at, booked_on, recorded_at, why, purpose) "
            "VALUES (%s, %s, %s, %s, '', '') RETURNING id",
            [studio, now, now.date(), now],
        )
        (entry,) = cursor.fetchone()
        ask(
            "INSERT INTO inventory_movement "
            "(studio_id, entry_id, bottle_id, material_id, kind, quantity, value) "
            "VALUES (%s, %s, %s, %s, 'use', -1, -0.05) RETURNING id",
            [studio, entry, bottle, material],
        )
        cursor.fetchone()
        ask(
            "UPDATE inventory_bottle SET remaining = %s, value = %s WHERE id = %s",
            [D(str(remaining)) - 1, D(str(worth)) - D("0.05"), bottle],
        )
        ask(
            "UPDATE inventory_material SET on_hand = %s, value = %s WHERE id = %s",
            [D(str(on_hand)) - 1, D(str(value)) - D("0.05"), material],
        )
        ask(
            "INSERT INTO inventory_dayuse (studio_id, material_id, day, quantity) "
            "VALUES (%s, %s, %s, 1) ON CONFLICT (studio_id, material_id, day) "
            "DO UPDATE SET quantity = inventory_dayuse.quantity + excluded.quantity",
            [studio, material, day],
        )
        ask(
            "INSERT INTO inventory_monthend (studio_id, material_id, month, quantity, value) "
            "VALUES (%s, %s, %s, -1, -0.05) ON CONFLICT (material_id, month) DO UPDATE SET "
            "quantity = inventory_monthend.quantity + excluded.quantity, "
            "value = inventory_monthend.value + excluded.value",
            [studio, material, day.replace(day=1)],
        )
        ask("COMMIT")
        ask(
            "SELECT 1 FROM django_tasks_database_dbtaskresult WHERE status = 'READY' "
            "AND task_path = %s AND args_kwargs = %s LIMIT 1",
            [renew.module_path, json.dumps({"args": [studio], "kwargs": {}})],
        )
        cursor.fetchone()


@pytest.fixture(params=HALF_YEARS.values(), ids=HALF_YEARS)
def few_and_many(request, tmp_path):
    made = []
    try:
        for movements in (FEW, MANY):
            made.append(Database(tmp_path, movements, request.param))
        for database in made:
            with database.on():
                database.client = Client()
                database.client.force_login(database.studio.memberships.get().user)
                database.material = database.studio.materials.earliest("pk")
        yield made
    finally:
        for database in made:
            database.drop()


def test_a_million_movements_cost_what_ten_thousand_do(few_and_many, capsys):
    few, many = few_and_many

    def on(database, act):
        def call():
            with database.on():
                act(database)

        return call

    for name, act in {
        "the shelf": page("/bottles/"),
        "the materials": page("/stock/"),
        "a use": use,
        "a low-stock check": low_stock,
    }.items():
        rounds = TURNS_OF_USE if act is use else ROUNDS
        calls = on(few, act), on(many, act)
        times = measured(*calls, limits=[(1, 0, MOST_GROWN)], rounds=rounds)
        say(capsys, name, times, "at ten thousand")
    calls = on(many, bare_use), on(many, use)
    times = measured(*calls, limits=[(1, 0, MOST_OVER_BARE)], rounds=TURNS_OF_USE)
    say(capsys, "a use", times, "bare")

    with many.on():
        # What was written meanwhile, both ways, agrees; so does all that was built.
        assert [str(found) for found in books.check()] == []
        assert many.studio.movements.count() > MANY
        assert low_stock(many) is None


def say(capsys, name, times, floor):
    floor_s, own_s = times.medians
    with capsys.disabled():
        print(
            f"\n{connection.vendor}: {name} {own_s * 1e3:.1f} ms, {floor} {floor_s * 1e3:.1f} ms, "
            f"{times.ratio(1, 0)[0]:.2f} ×",
            end="",
        )
