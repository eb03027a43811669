"""Undoing an entry: once, exactly, and never what has been used since."""

from decimal import Decimal

import pytest

from inventory.errors import CannotReverse, NotInStudio
from inventory.models import Entry
from inventory.stock import books
from inventory.stock import ledger as stock
from tests.factories.inventory import EntryFactory, MaterialFactory
from tests.inventory.shelves import receive, shelf, use

D = Decimal
pytestmark = pytest.mark.django_db


@pytest.fixture
def white(studio):
    return MaterialFactory(studio=studio, name="White")


def average(studio):
    studio.costing = "moving_average"
    studio.save()


def reverse(entry, why="A mistake"):
    return stock.reverse(studio=entry.studio, by=None, entry=entry, why=why)


def entry_of(bottle):
    return bottle.movements.first().entry


def test_a_reversal_mirrors_and_shows_as_such(white):
    first, second = receive(white, (10, 100), (10, 50))
    used = use(white, 15)

    undone = reverse(used)

    mirrored = undone.movements.values_list("kind", "bottle", "quantity", "value")
    assert list(mirrored) == [
        ("reversal", first.pk, D(10), D(100)),
        ("reversal", second.pk, D(5), D(25)),
    ]
    assert (undone.reverses, used.reversed_by, undone.why) == (used, undone, "A mistake")
    assert (shelf(first), shelf(second)) == ((D(10), D(100)), (D(10), D(50)))


def test_an_entry_is_undone_once(white):
    receive(white, (10, 100))
    used = use(white, 5)
    undone = reverse(used)

    with pytest.raises(CannotReverse, match="was undone already, on"):
        reverse(used)
    with pytest.raises(CannotReverse, match="undoes another one"):
        reverse(undone)
    assert shelf(white) == (D(10), D(100))


def test_what_was_used_since_cannot_be_undone(white):
    (bottle,) = receive(white, (10, 100))
    used = use(white, 4)

    with pytest.raises(CannotReverse, match=r"B0001 White has 6 mL left of the 10 mL that came in"):
        reverse(entry_of(bottle))
    reverse(used)
    reverse(entry_of(bottle))

    assert shelf(white) == (D(0), D(0))
    bottle.refresh_from_db()
    assert bottle.archived_at is not None


def test_undoing_a_use_brings_a_bottle_back_that_was_put_away(white):
    (bottle,) = receive(white, (10, 100))
    used = use(white, 10)
    bottle.refresh_from_db()
    assert bottle.archived_at is not None

    reverse(used)

    bottle.refresh_from_db()
    assert (bottle.archived_at, bottle.remaining) == (None, D(10))


def test_undoing_a_receipt_under_the_average_levels_what_is_left(studio, white):
    average(studio)
    (first,) = receive(white, (10, 10))
    (second,) = receive(white, (10, 30))
    (third,) = receive(white, (10, 50))
    assert shelf(first) == shelf(second) == shelf(third) == (D(10), D(30))

    reverse(entry_of(second))

    assert (shelf(first), shelf(second), shelf(third)) == ((10, 30), (0, 0), (10, 30))
    assert books.check(studio) == []


def test_a_cost_that_went_out_with_the_average_cannot_be_undone(studio, white):
    average(studio)
    receive(white, (10, 10))
    (dear,) = receive(white, (10, 90))
    use(white, 10)  # took 50 from the first bottle, which alone had cost 10

    with pytest.raises(CannotReverse, match="as part of the average"):
        reverse(entry_of(dear))

    assert shelf(white) == (D(10), D(50))


def test_undoing_a_use_under_the_average_comes_back_at_what_it_went_for(studio, white):
    average(studio)
    (first,) = receive(white, (10, 10))
    used = use(white, 5)
    receive(white, (10, 40))

    reverse(used)

    assert shelf(white) == (D(20), D(50))
    assert shelf(first) == (D(10), D(25))


def test_a_weighing_is_undone_like_anything_else(studio, white):
    (bottle,) = receive(white, (10, 20))
    counted = stock.recount(studio=studio, by=None, bottle=bottle, quantity=D(7))

    reverse(counted)

    assert shelf(bottle) == (D(10), D(20))


def test_another_studios_entry_is_not_there(studio):
    foreign = EntryFactory()

    with pytest.raises(NotInStudio):
        stock.reverse(studio=studio, by=None, entry=foreign, why="")
    assert Entry.objects.count() == 1
