"""The books are proved, and every kind of disagreement is found and named."""

import json
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from inventory.models import Bottle, Entry, Hold, Material, Movement
from inventory.stock import books, holds
from inventory.stock import ledger as stock
from inventory.stock.ledger import reversing
from tests.factories.inventory import (
    BottleFactory,
    MaterialFactory,
    OrderLineFactory,
    PurchaseOrderFactory,
    WorkFactory,
)
from tests.inventory.stock.shelves import receive, shelf, use

D = Decimal
pytestmark = pytest.mark.django_db


@pytest.fixture
def white(studio):
    studio.name = "Rill"
    studio.save()
    made = MaterialFactory(studio=studio, name="White")
    receive(made, (100, 10), (50, "7.77"))
    stock.reverse(studio=studio, by=None, entry=use(made, 20), why="")
    use(made, 30)
    holds.hold(work=WorkFactory(studio=studio), label="Work", needs={made: D(500)})
    return made


def found(studio=None):
    return [(each.check, each.row) for each in books.check(studio)]


def test_books_that_agree_say_what_moved(white, capsys):
    call_command("check_books")

    said = capsys.readouterr().out
    assert said.startswith("The books agree: ")
    assert "value in 19.77, out 5, on hand 14.77" in said.replace("19.770000", "19.77")


def test_a_bottle_that_is_not_its_movements_is_named(white, capsys):
    bottle = white.bottles.first()
    Bottle.objects.filter(pk=bottle.pk).update(remaining=D("69.9999"))

    with pytest.raises(SystemExit) as stopped:
        call_command("check_books")

    said = capsys.readouterr()
    assert stopped.value.code == 1
    assert (
        f"Rill: Bottle {bottle.code}: its amount is kept as 69.9999 and its movements add up to 70"
        in said.out
    )
    assert "1 row does not agree" in said.err


def test_a_value_off_by_its_last_place_is_found(studio, white):
    bottle = white.bottles.first()
    Bottle.objects.filter(pk=bottle.pk).update(value=bottle.value + D("0.000001"))
    Material.objects.filter(pk=white.pk).update(value=D("14.770001"))

    assert found(studio) == [
        ("bottles", f"Bottle {bottle.code}"),
        ("materials", "Material White"),
        ("value", "Value of what came in"),
    ]


def test_a_movement_changed_behind_the_ledger_is_found(studio, white):
    reversal = Movement.objects.filter(kind="reversal").first()
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE inventory_movement SET value = value + 1 WHERE id = %s", [reversal.pk]
        )

    assert ("reversals", f"Entry {reversal.entry_id}") in found(studio)
    assert {check for check, _ in found(studio)} == {"bottles", "materials", "months", "reversals"}


def test_levelling_that_makes_value_is_found(studio, white):
    bottle = white.bottles.first()
    entry = Entry.objects.first()
    Movement.objects.create(
        studio=studio,
        entry=entry,
        bottle=bottle,
        material=white,
        kind="respread",
        quantity=D(0),
        value=D(1),
    )

    assert ("levelling", f"Entry {entry.pk}") in found(studio)


def test_pouring_over_that_makes_value_is_found(studio, white):
    bottle, entry = white.bottles.first(), Entry.objects.first()
    for quantity, value in ((-10, -1), (10, 2)):
        Movement.objects.create(
            studio=studio,
            entry=entry,
            bottle=bottle,
            material=white,
            kind="decant",
            quantity=D(quantity),
            value=D(value),
        )

    assert ("decanting", f"Entry {entry.pk}") in found(studio)


def test_stock_that_an_older_version_left_worth_nothing_is_found(studio, monkeypatch):
    """20 mL for 20, of which 5 are left; 10 mL for 30 were undone after they had been averaged."""
    studio.costing = "moving_average"
    studio.save()
    white = MaterialFactory(studio=studio, name="White")
    free = MaterialFactory(studio=studio, name="Free")
    (first,) = receive(white, (20, 20))
    use(white, 10)
    (dear,) = receive(white, (10, 30))
    use(white, 5)
    receive(free, (10, 0))
    (bought,) = receive(free, (10, 10))
    stock.reverse(studio=studio, by=None, entry=bought.movements.first().entry, why="")
    assert found(studio) == []
    monkeypatch.setattr(reversing, "_out_of_line", lambda *told: [])
    stock.reverse(studio=studio, by=None, entry=dear.movements.first().entry, why="")

    (only,) = books.check(studio)

    assert (only.check, only.row) == ("worth", "Material White")
    assert only.sentence == (
        "5 mL of it is worth nothing and came in for 5, because a delivery was undone after its "
        f"cost had gone out with other stock. Count {first.code} as empty first, and then as what "
        "is in it."
    )
    for quantity in (D(0), D(5)):  # as it says
        stock.recount(studio=studio, by=None, bottle=first, quantity=quantity)
    assert shelf(white) == (D(5), D(5))
    assert found(studio) == []


def test_an_empty_bottle_with_a_value_is_found(studio, white):
    bottle = BottleFactory(studio=studio, material=white, code="LAST")
    Movement.objects.create(
        studio=studio,
        entry=Entry.objects.first(),
        bottle=bottle,
        material=white,
        kind="weigh_in",
        quantity=D(0),
        value=D(2),
    )
    Bottle.objects.filter(pk=bottle.pk).update(value=D(2))
    Material.objects.filter(pk=white.pk).update(value=D("16.77"))
    white.month_ends.update(value=D("16.77"))

    (only,) = books.check(studio)
    assert (only.row, only.sentence) == (
        "Bottle LAST",
        "nothing is left of it, but a value of 2.",
    )


def test_a_movement_of_two_studios_is_found(studio, white):
    foreign = BottleFactory()
    move = Movement.objects.create(
        studio=studio,
        entry=Entry.objects.first(),
        bottle=foreign,
        material=foreign.material,
        kind="receipt",
        quantity=D(1),
        value=D(1),
    )

    assert ("entries", f"Movement {move.pk}") in found()


def test_a_hold_of_another_studios_material_is_found(studio, white):
    Hold.objects.update(material=MaterialFactory())

    assert [check for check, _ in found(studio)] == ["holds"]


@pytest.mark.parametrize(
    ("status", "came"), [("received", 1), ("sent", 1), ("draft", 1), ("partly_received", 2)]
)
def test_an_order_that_says_otherwise_than_its_lines_is_found(studio, status, came):
    order = PurchaseOrderFactory(studio=studio, status=status, number=7)
    OrderLineFactory(order=order, count=2, received_count=came)

    assert found(studio) == [("orders", "Order 7")]


def test_json_names_the_rows_too(white, capsys):
    call_command("check_books", "--json")
    assert json.loads(capsys.readouterr().out)["agree"] is True

    Material.objects.update(on_hand=D(1))
    with pytest.raises(SystemExit):
        call_command("check_books", "--json")

    said = json.loads(capsys.readouterr().out)
    assert said["agree"] is False
    assert [finding["row"] for finding in said["findings"]] == ["Material White"]


def test_one_studios_books_leave_the_others_alone(studio, white):
    Material.objects.filter(pk=MaterialFactory().pk).update(on_hand=D(1))

    assert found(studio) == []
    assert len(found()) == 1
    with pytest.raises(CommandError, match="There is no studio number 0"):
        call_command("check_books", "--studio", "0")


def test_apps_above_add_checks_of_their_own(studio, monkeypatch):
    mine = books.Finding("mine", studio.name, "Row 1", "It is wrong.")
    monkeypatch.setattr(books, "checks", [*books.checks, lambda studio: [mine]])

    assert books.check(studio) == [mine]


@pytest.mark.parametrize("bottles", (1, 3))
def test_the_number_of_questions_does_not_grow(
    studio, monkeypatch, django_assert_num_queries, bottles
):
    own = [each for each in books.checks if each.__module__ == books.__name__]
    monkeypatch.setattr(books, "checks", own)
    receive(MaterialFactory(studio=studio), *[(10, 1)] * bottles)

    with django_assert_num_queries(12):  # one a check, two for the reversals
        books.check(studio)
