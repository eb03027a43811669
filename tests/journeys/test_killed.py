"""Fifty processes killed while they write stock leave the books clean and nothing lost or doubled.

On SQLite with the product's own settings, flushed to disk at each commit; with DATABASE_URL on
PostgreSQL. Half are killed by the clock, half in place of a statement drawn at random, which is
mostly inside a transaction.
"""

import multiprocessing
import random
from decimal import Decimal as D
from signal import SIGKILL
from time import sleep

import pytest
from django.conf import settings
from django.db import connection

from inventory.stock import books
from inventory.stock import ledger as stock
from studio.models import IdempotencyRecord
from studio.tokens import create_token
from tests.factories.bench import working_studio
from tests.factories.studio import MembershipFactory
from tests.journeys import writer

KILLS = 50
MOST_SECONDS = 0.12  # from the first act of a process to its end
MOST_STATEMENTS = 150
pytestmark = pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)


@pytest.fixture
def facts():
    """A well-stocked studio: what its writers must know of it."""
    bench = working_studio()
    user = MembershipFactory(studio=bench.studio, role="maker", sees_costs=True).user
    plenty = [stock.Receipt(bench.tile, D(5_000), D(100))]
    plenty += [
        stock.Receipt(one, D(50_000), D(700)) for one in (bench.white, bench.blue, bench.gold)
    ]
    stock.receive(studio=bench.studio, by=None, receipts=plenty)
    return {
        "studio": bench.studio.pk,
        "token": create_token(studio=bench.studio, user=user, label="Bench")[1],
        "surface": bench.tile_size.pk,
        "technique": "bloom",
        "palette": bench.palette.pk,
        **{name: getattr(bench, name).pk for name in ("white", "blue")},
    }


def database():
    """Return how the writers connect: to the tests' database, as in use."""
    options = dict(connection.settings_dict["OPTIONS"])
    if connection.vendor == "sqlite":
        options["init_command"] = options["init_command"].replace(
            "synchronous=OFF", "synchronous=FULL"
        )
        assert "journal_mode=WAL" in options["init_command"]
        assert options["transaction_mode"] == "IMMEDIATE"
    return {"NAME": connection.settings_dict["NAME"], "OPTIONS": options}


def killed(processes, facts, draw, by_the_clock):
    """Let a process write until it is killed; return all it said."""
    ours, its = processes.Pipe(duplex=False)
    last = None if by_the_clock else draw.randrange(1, MOST_STATEMENTS)
    told = (its, database(), facts, draw.randrange(10**9), last)
    process = processes.Process(target=writer.write, args=told)
    process.start()
    its.close()
    said = []
    if by_the_clock:
        said.append(ours.recv())
        sleep(draw.uniform(0, MOST_SECONDS))
        process.kill()
    try:
        while True:
            said.append(ours.recv())
    except EOFError:  # its end of the pipe went with it
        ours.close()
    process.join(timeout=30)
    assert process.exitcode == -SIGKILL
    process.close()
    return said


def test_fifty_killed_writers_leave_nothing_lost_or_doubled(facts):
    processes = multiprocessing.get_context("forkserver")
    processes.set_forkserver_preload([writer.__name__])
    draw = random.Random(20)
    acts, unanswered = {}, 0
    for turn in range(KILLS):
        open_acts = {}
        for word, act, key, *sent in killed(processes, facts, draw, by_the_clock=turn % 2):
            if word == "about":
                open_acts[key] = act, *sent
            else:
                acts[key] = act
                del open_acts[key]
        # Whoever got no answer asks again with the same key.
        for key, (act, path, body) in open_acts.items():
            unanswered += 1
            if act == "by service":
                assert written(act, key) <= 1
            else:
                writer.post(facts, path, body, key)
                acts[key] = act

    assert unanswered >= KILLS // 2
    assert set(acts.values()) == set(writer.ACTS)
    assert {key: written(act, key) for key, act in acts.items()} == dict.fromkeys(acts, 1)
    keyed = {key for key, act in acts.items() if act != "by service"}
    assert set(IdempotencyRecord.objects.values_list("key", "status")) == {(k, 201) for k in keyed}
    assert books.check() == []
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            assert cursor.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def written(act, key):
    """Return how many times an act is on record."""
    model, field = writer.TRACES[act]
    return model.objects.filter(**{field: key}).count()
