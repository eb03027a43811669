"""Several phones on one shelf: no line twice, nothing posted twice; see `test_concurrency`."""

import pytest
from django.conf import settings

from inventory.errors import CountRefused
from inventory.models import Movement
from inventory.stock import books, counts
from inventory.stock import ledger as stock
from studio.errors import StudioError
from tests.factories.inventory import MaterialFactory
from tests.inventory.stock.shelves import D, receive, shelf
from tests.inventory.stock.test_concurrency import at_once

PEOPLE = 8
pytestmark = pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)


def refusals(results):
    return [one for one in results if isinstance(one, StudioError)]


def test_one_shelf_is_counted_by_many_at_once(studio):
    paint = MaterialFactory(studio=studio, unit="g", tare_g=D(10))
    (one, two) = receive(paint, (100, 10), (100, 10))
    started = at_once(*[lambda: counts.start_count(studio=studio, by=None)] * PEOPLE)
    assert len(refusals(started)) == PEOPLE - 1
    count = studio.shelf_counts.get()

    def weigh(bottle, gross):
        return lambda: counts.record(count=count, by=None, bottle=bottle, gross_g=D(gross))

    same = at_once(*[weigh(one, 100)] * PEOPLE)
    other = at_once(*[weigh(two, 95 + number) for number in range(PEOPLE)])

    assert refusals(same) == []
    assert {line.pk for line in same} == {same[0].pk}
    assert len(refusals(other)) == PEOPLE - 1
    assert Movement.objects.filter(kind="weigh_in").count() == 2
    assert (count.lines.count(), shelf(one)[0]) == (2, D(90))
    assert books.check(studio) == []


def test_what_is_found_put_back_undone_and_finished_at_once_keeps_the_books(studio):
    paint = MaterialFactory(studio=studio, unit="g", tare_g=D(10))
    (one, two) = receive(paint, (100, 10), (100, 10))
    stock.recount(studio=studio, by=None, bottle=two, quantity=D(0))
    count = counts.start_count(studio=studio, by=None)
    line = counts.record(count=count, by=None, bottle=one, gross_g=D(100))
    told = {"count": count, "by": None}

    results = at_once(
        *[lambda: counts.record(**told, bottle=two, quantity=D(40), confirmed=True)] * 3,
        *[lambda: counts.put_back(**told, bottle=one)] * 2,
        lambda: stock.reverse(studio=studio, by=None, entry=line.entry),
        lambda: counts.finish_count(**told),
        lambda: counts.cancel_count(**told),
    )

    assert not [one for one in results if not hasattr(one, "pk") and one not in refusals(results)]
    live = count.lines.live()
    assert live.count() == len(set(live.values_list("bottle", flat=True)))
    assert shelf(two)[0] in (D(0), D(40))
    assert books.check(studio) == []
    with pytest.raises(CountRefused):
        counts.finish_count(**told)
