"""Sixteen people at once, on a real database with connections of their own.

On SQLite the test database is a file with immediate transactions, as in use; with DATABASE_URL set
to PostgreSQL the same tests run against its row locks.
"""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from decimal import Decimal
from threading import Barrier, Event
from time import sleep

import pytest
from django.conf import settings
from django.db import connection, transaction
from rest_framework.test import APIClient

from inventory.buying import purchasing
from inventory.errors import StockShortfall
from inventory.models import Bottle, Movement
from inventory.stock import books, holds
from inventory.stock import ledger as stock
from inventory.stock.locks import lock_materials
from studio.closing import close_months, hold_months
from studio.errors import StudioError
from studio.models import Closing
from tests.factories.inventory import (
    MaterialFactory,
    OrderLineFactory,
    PackFactory,
    PurchaseOrderFactory,
    WorkFactory,
)
from tests.inventory.stock.shelves import receive, shelf

D = Decimal
PEOPLE = 16
# Naming the apps lets the tables be emptied with their dependants, of which one, the library's own
# table of tokens, stands unused beside the studio's.
pytestmark = pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)


def at_once(*acts):
    """Run each act in a thread of its own, all starting together; return results or refusals."""
    start = Barrier(len(acts))

    def run(act):
        try:
            start.wait(timeout=30)
            return act()
        except StudioError as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as people:
        return list(people.map(run, acts))


def use(material, quantity, **options):
    return lambda: stock.use(
        studio=material.studio, by=None, amounts={material: D(quantity)}, **options
    )


def test_the_last_of_a_bottle_is_taken_once(studio):
    white = MaterialFactory(studio=studio)
    (bottle,) = receive(white, (10, 10))

    results = at_once(*[use(white, 3)] * PEOPLE)

    refused = [each for each in results if isinstance(each, StockShortfall)]
    assert len(refused) == PEOPLE - 3
    assert shelf(bottle) == (D(1), D(1))
    assert Movement.objects.filter(kind="use").count() == 3
    assert books.check(studio) == []


def test_people_who_take_in_opposite_orders_do_not_wait_in_a_ring(studio):
    one, two = MaterialFactory(studio=studio), MaterialFactory(studio=studio)
    receive(one, (100, 10))
    receive(two, (100, 10))

    def both(first, second):
        amounts = {first: D(5), second: D(5)}
        return lambda: stock.use(studio=studio, by=None, amounts=amounts)

    results = at_once(*[both(one, two), both(two, one)] * (PEOPLE // 2))

    assert not any(isinstance(each, Exception) for each in results)
    assert (shelf(one)[0], shelf(two)[0]) == (D(20), D(20))
    assert books.check(studio) == []


def test_receiving_levelling_weighing_and_using_at_once_keeps_the_books(studio):
    studio.costing = "moving_average"
    studio.save()
    white = MaterialFactory(studio=studio, unit="g", tare_g=D(0))
    (bottle,) = receive(white, (1000, 10))

    acts = [
        lambda: receive(white, (10, 3), (10, 7)),
        use(white, 7),
        lambda: stock.weigh_in(studio=studio, by=None, bottle=bottle, gross_g=D(900)),
        lambda: stock.waste(studio=studio, by=None, bottle=bottle, quantity=D(1), why=""),
    ] * (PEOPLE // 4)
    results = at_once(*acts)

    assert not any(isinstance(each, Exception) for each in results)
    codes = list(studio.bottles.values_list("code", flat=True))
    assert len(codes) == len(set(codes)) == 9
    assert books.check(studio) == []


def test_holds_placed_while_stock_is_used_are_respected(studio):
    white = MaterialFactory(studio=studio)
    receive(white, (100, 10))

    def hold(number):
        work, label = WorkFactory(studio=studio), f"work-{number}"
        return lambda: holds.hold(work=work, label=label, needs={white: D(10)})

    results = at_once(*[hold(number) for number in range(8)], *[use(white, 10)] * 8)

    used = sum(1 for each in results[8:] if not isinstance(each, StockShortfall))
    covered = sum(holds.coverage(studio).values())
    assert used >= 2  # the holds leave 20 of 100 free, whatever the order
    assert covered == min(D(80), 100 - used * D(10))
    assert books.check(studio) == []


def test_an_entry_is_undone_once_by_many(studio):
    white = MaterialFactory(studio=studio)
    receive(white, (10, 10))
    used = use(white, 4)()

    results = at_once(*[lambda: stock.reverse(studio=studio, by=None, entry=used, why="")] * PEOPLE)

    assert sum(1 for each in results if not isinstance(each, StudioError)) == 1
    assert shelf(white) == (D(10), D(10))


def test_an_order_is_received_once_by_many(studio):
    order = PurchaseOrderFactory(studio=studio, status="sent")
    pack = PackFactory(studio=studio, supplier=order.supplier)
    line = OrderLineFactory(order=order, pack=pack, count=5)

    results = at_once(
        *[lambda: purchasing.receive_order(order=order, by=None, counts={line: 2})] * PEOPLE
    )

    assert sum(1 for each in results if not isinstance(each, StudioError)) == 2
    line.refresh_from_db()
    assert (line.received_count, studio.bottles.count()) == (4, 4)
    assert books.check(studio) == []


@pytest.mark.postgres
def test_postgresql_locks_one_material_and_leaves_the_others_free(studio):
    """While one act holds a material, another material moves and the same one waits its turn."""
    one, two = MaterialFactory(studio=studio), MaterialFactory(studio=studio)
    receive(one, (10, 10))
    receive(two, (10, 10))
    with ThreadPoolExecutor(2) as people:
        with transaction.atomic():
            lock_materials(studio, [one.pk])
            other = people.submit(at_once, use(two, 1)).result(timeout=30)
            waiting = people.submit(at_once, use(one, 1))
            with pytest.raises(TimeoutError):
                waiting.result(timeout=0.5)
        waited = waiting.result(timeout=30)

    assert not any(isinstance(each, Exception) for each in (*other, *waited))
    assert (shelf(one)[0], shelf(two)[0]) == (D(9), D(9))


def test_one_key_sent_by_many_acts_once(studio, maker):
    """The same write with the same key, sixteen times at once: one answer, for all the same."""
    white = MaterialFactory(studio=studio)
    (bottle,) = receive(white, (20, 20))
    body = {"amounts": [{"material": white.pk, "quantity": "5"}], "purpose": "a pour"}
    token = maker.api._credentials["HTTP_AUTHORIZATION"]

    def send(key):
        api = APIClient()
        api.credentials(HTTP_AUTHORIZATION=token)
        return lambda: api.post("/api/v1/uses/", body, headers={"Idempotency-Key": key})

    answers = at_once(*[send(key) for key in ("one", "two") for _ in range(PEOPLE // 2)])

    assert {answer.status_code for answer in answers} == {201}
    for same in (answers[: PEOPLE // 2], answers[PEOPLE // 2 :]):
        assert len({answer.data["id"] for answer in same}) == 1
    assert studio.entries.filter(purpose="a pour").count() == 2
    assert shelf(bottle) == (D(10), D(10))
    assert books.check(studio) == []


def test_all_kinds_of_writers_at_once_end_or_are_refused_in_words(studio):
    """Receipts, uses, reversals, holds, weighings and waste on three materials in all orders."""
    made = [MaterialFactory(studio=studio, unit="g", tare_g=D(0)) for _ in range(3)]
    bottles = [receive(one, (40, 40))[0] for one in made]
    undone = [use(one, 4)() for one in made]

    def work(number):
        one, two, three = made[number % 3 :] + made[: number % 3]
        bottle = bottles[number % 3]

        def take():
            amounts = {three: D(4), one: D(4), two: D(4)}
            return stock.use(studio=studio, by=None, amounts=amounts, purpose=f"use {number}")

        def undo():
            return stock.reverse(studio=studio, by=None, entry=undone[number % 3])

        def hold():
            return holds.hold(work=WorkFactory(studio=studio), label="w", needs={two: D(3)})

        return [
            take,
            lambda: receive(two, (5, 5), (1, 2)),
            take,
            undo,
            hold,
            lambda: stock.waste(studio=studio, by=None, bottle=bottle, quantity=D(9)),
            take,
            lambda: stock.recount(studio=studio, by=None, bottle=bottle, quantity=D(12)),
        ]

    acts = [act for number in range(6) for act in work(number)]
    results = at_once(*acts[0::3]) + at_once(*acts[1::3]) + at_once(*acts[2::3])

    refused = [each for each in results if isinstance(each, StudioError)]
    assert all(str(each).endswith(".") for each in refused)
    assert not any(isinstance(each, Exception) for each in results if each not in refused)
    assert 3 <= len(refused) < len(results)  # three undone twice, and some short
    assert studio.entries.exclude(reverses=None).count() == 3
    assert not Bottle.objects.filter(remaining__lt=0).exists()
    assert books.check(studio) == []


@pytest.mark.parametrize("method", ["moving_average", "fifo"])
def test_what_is_taken_at_once_is_worth_what_it_took_along(studio, method):
    """Sixteen emptying three bottles of unlike cost: what went out is what came in, to the last."""
    studio.costing = method
    studio.save()
    white = MaterialFactory(studio=studio)
    receive(white, (10, "3.33"), (7, "10.01"), (15, "0.07"))

    results = at_once(*[use(white, 2, purpose=f"use {number}") for number in range(PEOPLE)])

    assert not any(isinstance(each, StudioError) for each in results)
    assert shelf(white) == (D(0), D(0))
    uses = Movement.objects.filter(kind="use")
    assert sum(move.value for move in uses) == -D("13.41")
    per_use = Counter()
    for move in uses.select_related("entry"):
        per_use[move.entry.purpose] += move.quantity
    assert per_use == {f"use {number}": D(-2) for number in range(PEOPLE)}
    assert books.check(studio) == []


def test_an_act_beside_a_closing_is_booked_before_it_or_after_what_it_closed(studio):
    """Whoever comes first is let finish: none is booked in May after May was closed."""
    white = MaterialFactory(studio=studio)
    receive(white, (1000, 10))
    moment = datetime(2026, 5, 28, 12, tzinfo=UTC)

    def close():
        return close_months(studio=studio, by=None, up_to=date(2026, 5, 31))

    acts = [use(white, 1, happened_at=moment)] * (PEOPLE - 1)
    results = at_once(*acts[:7], close, *acts[7:])

    assert not any(isinstance(each, Exception) for each in results)
    (closing,) = (each for each in results if isinstance(each, Closing))
    days = {date(2026, 5, 28), date(2026, 6, 1)}
    for entry in studio.entries.filter(happened_at=moment):
        assert entry.booked_on in days
        assert entry.booked_on.month == 6 or entry.recorded_at < closing.recorded_at
    assert books.check(studio) == []


def test_a_closing_waits_for_an_act_that_has_begun(studio):
    """The act knows its months before the closing comes, and is written only afterwards."""
    white = MaterialFactory(studio=studio)
    receive(white, (1000, 10))
    moment = datetime(2026, 5, 28, 12, tzinfo=UTC)
    begun = Event()

    def slow_act():
        with transaction.atomic():
            hold_months(studio.pk)
            begun.set()
            sleep(0.5)
            return use(white, 1, happened_at=moment)()

    def close():
        begun.wait(timeout=30)
        return close_months(studio=studio, by=None, up_to=date(2026, 5, 31))

    entry, closing = at_once(slow_act, close)

    assert entry.booked_on == date(2026, 5, 28)
    assert closing.recorded_at > entry.recorded_at
    assert books.check(studio) == []
