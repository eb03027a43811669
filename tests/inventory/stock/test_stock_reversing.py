"""Undoing an entry: once, exactly, and never what has been used since."""

from decimal import Decimal

import pytest

from inventory.errors import CannotReverse, NotInStudio
from inventory.models import Entry
from inventory.stock import books
from inventory.stock import ledger as stock
from tests.factories.inventory import EntryFactory, MaterialFactory
from tests.inventory.stock.shelves import receive, shelf, use

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


def test_a_cheap_receipt_that_went_out_dear_cannot_be_undone(studio, white):
    """10 mL that cost 90 and 10 that cost 10 are 5 an mL, and the first 10 went out at that.

    Without the second, nothing would be left, and it would be worth 40.
    """
    average(studio)
    receive(white, (10, 90))
    (cheap,) = receive(white, (10, 10))
    use(white, 10)

    with pytest.raises(CannotReverse, match="as part of the average"):
        reverse(entry_of(cheap))

    assert shelf(white) == (D(10), D(50))


def test_a_receipt_used_in_the_average_is_not_undone_into_stock_worth_nothing(studio, white):
    """10 mL that cost 10 and 10 that cost 30 are 2 an mL; 5 mL took 10 of that, and cost 5.

    Without the 30, the 5 mL left would be worth 20 - 10 - 10: nothing.
    """
    average(studio)
    (first,) = receive(white, (20, 20))
    use(white, 10)
    (dear,) = receive(white, (10, 30))
    used = use(white, 5)

    with pytest.raises(CannotReverse, match=f"{first.code} White would be left with the wrong"):
        reverse(entry_of(dear))
    assert shelf(white) == (D(15), D(30))

    reverse(used)
    reverse(entry_of(dear))
    assert shelf(white) == (D(10), D(10))
    assert books.check(studio) == []


@pytest.mark.parametrize("turn", [1, -1])
def test_a_material_whose_cost_is_unknown_hides_no_other(studio, turn):
    """What was poured over has no cost of its own; the other is short of 10 - 10, as above."""
    average(studio)
    poured, spent = [MaterialFactory(studio=studio) for _ in range(2)][::turn]
    (old,) = receive(poured, (20, 20))
    stock.decant(studio=studio, by=None, bottle=old, into=stock.Vessel())
    receive(spent, (20, 20))
    use(spent, 10)
    both = stock.receive(
        studio=studio,
        by=None,
        receipts=[stock.Receipt(poured, D(10), D(30)), stock.Receipt(spent, D(10), D(30))],
    )
    use(poured, 5)
    use(spent, 5)

    with pytest.raises(CannotReverse, match="as part of the average"):
        reverse(both)


def test_an_undoing_says_what_it_undoes_or_what_it_is_for(studio, white):
    wrong, useless = use_of(white), use_of(white)

    undone = stock.reverse(studio=studio, by=None, entry=wrong)
    named = stock.reverse(studio=studio, by=None, entry=useless, purpose="Wrong bottle")

    assert (undone.purpose, named.purpose) == (f"Undone: {wrong}", "Wrong bottle")


def use_of(material):
    receive(material, (10, 10))
    return use(material, 10, purpose="A test pour")


def test_a_receipt_used_in_the_average_may_be_counted_as_empty_instead(studio, white):
    average(studio)
    receive(white, (20, 20))
    use(white, 10)
    (dear,) = receive(white, (10, 30))
    use(white, 5)

    stock.recount(studio=studio, by=None, bottle=dear, quantity=D(0))

    assert shelf(white) == (D(5), D(10))
    assert books.check(studio) == []


def test_a_cheap_receipt_used_in_the_average_is_not_undone_into_dear_stock(studio, white):
    """10 mL that cost 20 and 10 given are 1 an mL; 5 mL took 5, and cost 10.

    Without the gift, the 5 mL left would be worth 15, and cost 10.
    """
    average(studio)
    receive(white, (10, 20))
    (given,) = receive(white, (10, 0))
    use(white, 5)

    with pytest.raises(CannotReverse, match="would be left with the wrong value"):
        reverse(entry_of(given))

    assert shelf(white) == (D(15), D(15))


def test_a_receipt_of_about_the_average_is_undone_though_some_was_used(studio, white):
    """At 2.00 and 2.20 an mL it matters little that 10 mL went out at 2.10: 79 is left of 80."""
    average(studio)
    receive(white, (50, 100))
    (second,) = receive(white, (50, 110))
    use(white, 10)

    reverse(entry_of(second))

    assert shelf(white) == (D(40), D(79))
    assert books.check(studio) == []


def test_what_was_used_before_a_receipt_does_not_keep_it_from_being_undone(studio, white):
    average(studio)
    receive(white, (20, 20))
    use(white, 10)
    (dear,) = receive(white, (10, 900))

    reverse(entry_of(dear))

    assert shelf(white) == (D(10), D(10))


def test_what_came_in_for_nothing_may_be_left_worth_nothing(studio, white):
    average(studio)
    receive(white, (10, 0))
    (bought,) = receive(white, (10, 10))
    used = use(white, 5)

    with pytest.raises(CannotReverse):
        reverse(entry_of(bought))
    reverse(used)
    reverse(entry_of(bought))

    assert shelf(white) == (D(10), D(0))
    assert books.check(studio) == []


def test_a_batch_is_undone_by_the_same_rule(studio, white):
    """100 mL that took 50 and 100 that took 90; 60 took 42 of the average, and had cost 30."""
    average(studio)
    pot, dear = MaterialFactory(studio=studio, kind="mix"), MaterialFactory(studio=studio)
    receive(white, (100, 50))
    receive(dear, (100, 90))
    mixed(white, pot)
    second = mixed(dear, pot)
    use(pot, 60)

    with pytest.raises(CannotReverse, match="would be left with the wrong value"):
        reverse(second)

    assert shelf(pot) == (D(140), D(98))


def mixed(material, pot):
    """Mix 100 mL of a material into a bottle of a mix; returns the entry."""
    made = stock.StockMove("mix", pot, D(100), new_bottle=stock.Receipt(pot, D(100), None))
    taken = stock.StockMove("mix", material, D(-100))
    return stock.post(studio=pot.studio, by=None, moves=[taken, made])


def test_what_a_count_found_at_another_price_does_not_hide_it_under_fifo(studio, white):
    """20 mL found in an empty bottle that had cost 2, at the 0.10 an mL of the other: 2 for all."""
    (first,) = receive(white, (10, 2))
    use(white, 10)
    receive(white, (10, 1))
    stock.recount(studio=studio, by=None, bottle=first, quantity=D(20))
    assert shelf(first) == (D(20), D(2))

    with pytest.raises(CannotReverse, match="as part of the average or a count"):
        reverse(entry_of(first))

    assert shelf(first) == (D(20), D(2))


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
