"""What a quantity of a material costs, and where that price comes from."""

from decimal import Decimal as D

import pytest
from django.utils import timezone

from inventory.models import ReplacementCost, Work
from inventory.stock import holds
from pricing.costing.replacement import NOT_YET
from pricing.costing.worth import ON_HAND, PARTLY, PriceBook, prices
from tests.factories.inventory import MaterialFactory, PackFactory
from tests.inventory.stock.shelves import keep_run_off, receive, use

pytestmark = pytest.mark.django_db

LAST_PAID, SHELF = ReplacementCost.Source.LAST_PAID.label, ReplacementCost.Source.SHELF.label


def price(material, quantity):
    found = prices(material.studio, {material: D(quantity)})[material]
    return found.value, found.source


@pytest.fixture
def tile(studio):
    return MaterialFactory(studio=studio, unit="each", kind="surface")


def test_the_last_one_on_hand_is_priced(tile):
    receive(tile, (1, 3))
    PackFactory(studio=tile.studio, material=tile, size=D(1), price=D(5))

    assert price(tile, 1) == (3, ON_HAND)


def test_what_is_all_gone_is_priced_at_a_pack_or_else_at_what_was_paid(tile):
    receive(tile, (2, 8))
    use(tile, 2)

    assert price(tile, 3) == (12, LAST_PAID)

    PackFactory(studio=tile.studio, material=tile, size=D(10), price=D(50))

    assert price(tile, 3) == (15, NOT_YET)


def test_of_two_packs_the_cheaper_by_the_unit_counts(tile):
    for size, cost in ((1, 5), (10, 40), (4, 18)):
        PackFactory(studio=tile.studio, material=tile, size=D(size), price=D(cost))

    assert price(tile, 3) == (12, NOT_YET)  # 40 / 10 each


def test_more_of_what_was_never_bought_costs_by_the_unit_what_is_on_hand(studio):
    studio.run_off_value = "base"
    studio.save()
    pot = MaterialFactory(studio=studio, kind="mix")
    keep_run_off(pot, 40, 2)
    pot.refresh_from_db()

    assert price(pot, 100) == (5, PARTLY)  # 0.05 an mL


def test_what_is_not_there_costs_what_it_is_bought_at(tile):
    """One of the three is on the shelf at 3; the usual purchase is landed at 7 each."""
    receive(tile, (1, 3))
    PackFactory(studio=tile.studio, material=tile, size=D(1), price=D(5))
    ReplacementCost.objects.create(
        studio=tile.studio,
        material=tile,
        unit_cost=D(7),
        source=ReplacementCost.Source.PLAN,
        made_on=tile.studio.today(),
        read_at=timezone.now(),
    )

    assert price(tile, 3) == (3 + 2 * 7, PARTLY)


def promised(tile, quantity):
    work = Work.objects.create(studio=tile.studio)
    holds.hold(work=work, label="A commission", needs={tile: D(quantity)})
    return work


def test_what_is_promised_to_others_is_left_to_them(tile):
    """The first two at 1 each are promised, so it is the next at 4 and then one more to buy."""
    receive(tile, (2, 2), (1, 4))
    PackFactory(studio=tile.studio, material=tile, size=D(1), price=D(9))
    work = promised(tile, 2)
    tile.refresh_from_db()

    assert price(tile, 1) == (4, ON_HAND)
    assert price(tile, 2) == (4 + 9, PARTLY)
    own = PriceBook(tile.studio, [tile], work=work)
    assert own.price(tile, D(2)).value == 2


def test_what_is_promised_beyond_the_shelf_leaves_nothing(tile):
    receive(tile, (2, 2))
    PackFactory(studio=tile.studio, material=tile, size=D(1), price=D(9))
    promised(tile, 5)
    tile.refresh_from_db()

    assert price(tile, 2) == (18, NOT_YET)


def test_each_line_takes_after_the_ones_before_it(tile):
    receive(tile, (2, 2), (2, 8))
    tile.refresh_from_db()
    book = PriceBook(tile.studio, [tile])

    first = book.again()
    first.take(tile, D(3))

    assert first.price(tile, D(1)).value == 4
    assert book.price(tile, D(3)).value == 2 + 4


def test_under_the_moving_average_the_turn_makes_no_difference(tile):
    tile.studio.costing = "moving_average"
    tile.studio.save()
    receive(tile, (2, 2), (2, 8))
    promised(tile, 2)
    tile.refresh_from_db()

    assert price(tile, 2)[0] == 5
