"""Holds: first promised, first served, and never the same millilitre twice."""

from datetime import date
from decimal import Decimal

import pytest

from inventory.errors import BadAmount, NotInStudio, StockShortfall
from inventory.models import Hold
from inventory.stock import holds
from inventory.stock import ledger as stock
from tests.factories.inventory import MaterialFactory, WorkFactory

D = Decimal
pytestmark = pytest.mark.django_db


@pytest.fixture
def white(studio):
    made = MaterialFactory(studio=studio, name="White")
    stock.receive(studio=studio, by=None, receipts=[stock.Receipt(made, D(100), D(10))])
    made.refresh_from_db()
    return made


def hold(material, name, quantity, work=None, **options):
    work = work or WorkFactory(studio=material.studio)
    return holds.hold(work=work, label=name.title(), needs={material: D(quantity)}, **options)


def test_coverage_serves_what_was_promised_first(studio, white):
    (first,) = hold(white, "first", 80)
    (second,) = hold(white, "second", 80)
    (third,) = hold(white, "third", 10)

    assert holds.coverage(studio) == {first: D(80), second: D(20), third: D(0)}


def test_two_works_never_count_on_the_same_millilitre(studio, white):
    (first,) = hold(white, "first", 80)
    (second,) = hold(white, "second", 80)

    assert holds.shortages(studio, {white: D(80)}, work=first.work) == []
    (second,) = holds.shortages(studio, {white: D(80)}, work=second.work)
    (newcomer,) = holds.shortages(studio, {white: D(1)})

    assert (second.available, second.missing, second.promised) == (
        D(20),
        D(60),
        (("First", D(80)),),
    )
    assert (newcomer.available, newcomer.missing) == (D(0), D(1))


def test_a_work_cannot_use_what_another_is_promised(studio, white):
    (first,) = hold(white, "first", 80)
    (second,) = hold(white, "second", 80)

    with pytest.raises(StockShortfall, match="60 mL short"):
        stock.use(studio=studio, by=None, amounts={white: D(80)}, work=second.work)
    stock.use(studio=studio, by=None, amounts={white: D(20)}, work=second.work)
    stock.use(studio=studio, by=None, amounts={white: D(80)}, work=first.work)


def test_a_hold_renewed_keeps_its_place_and_what_was_used(studio, white):
    (first,) = hold(white, "first", 50)
    (second,) = hold(white, "second", 60)
    stock.use(studio=studio, by=None, amounts={white: D(10)}, work=first.work)

    (renewed,) = hold(white, "first", 45, first.work, needed_by=date(2026, 9, 1))

    assert renewed == first
    assert (renewed.quantity, renewed.used, renewed.outstanding) == (D(55), D(10), D(45))
    assert renewed.needed_by == date(2026, 9, 1)
    assert holds.coverage(studio) == {first: D(45), second: D(45)}


def test_a_hold_lets_go_of_what_is_not_needed_any_more(studio, white):
    blue = MaterialFactory(studio=studio)
    water = MaterialFactory(studio=studio, is_stocked=False)
    work = WorkFactory(studio=studio)
    holds.hold(work=work, label="Work", needs={white: D(5), blue: D(5)})

    left = holds.hold(work=work, label="Work", needs={blue: D(5), water: D(9)})

    assert [row.material for row in left] == [blue]
    assert Hold.objects.open().count() == 1


def test_release_frees_all_of_one_work(studio, white):
    (first,) = hold(white, "first", 80)
    (second,) = hold(white, "second", 80)

    assert holds.release(work=first.work) == 1

    assert holds.coverage(studio) == {second: D(80)}
    assert holds.shortages(studio, {white: D(20)}) == []


def test_draw_down_stops_at_what_was_held(studio, white):
    (row,) = hold(white, "work", 30)

    holds.draw_down(work=row.work, used={white: D(50)})

    row.refresh_from_db()
    assert row.used == D(30)


def test_a_hold_needs_an_amount_that_can_be(studio, white):
    with pytest.raises(BadAmount, match="from 0"):
        hold(white, "work", -1)
    assert Hold.objects.count() == 0


def test_another_studios_material_cannot_be_held(studio, white):
    with pytest.raises(NotInStudio):
        holds.hold(work=WorkFactory(studio=studio), label="K", needs={MaterialFactory(): D(1)})


@pytest.mark.parametrize("works", (1, 3))
def test_shortages_ask_twice_for_any_number_of_works(
    studio, white, django_assert_num_queries, works
):
    for number in range(works):
        hold(white, f"work-{number}", 50)

    with django_assert_num_queries(2):  # the materials, the holds with their material
        holds.shortages(studio, {white: D(500)})
