"""What a quantity of a material costs, and where that price comes from."""

from decimal import Decimal as D

import pytest

from pricing.costing.worth import LAST_PAID, ON_HAND, PACK, prices
from tests.factories.inventory import MaterialFactory, PackFactory
from tests.inventory.shelves import keep_run_off, receive, use

pytestmark = pytest.mark.django_db


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

    assert price(tile, 3) == (15, PACK)


def test_of_two_packs_the_cheaper_by_the_unit_counts(tile):
    for size, cost in ((1, 5), (10, 40), (4, 18)):
        PackFactory(studio=tile.studio, material=tile, size=D(size), price=D(cost))

    assert price(tile, 3) == (12, PACK)  # 40 / 10 each


def test_more_of_what_was_never_bought_costs_by_the_unit_what_is_on_hand(studio):
    studio.run_off_value = "base"
    studio.save()
    pot = MaterialFactory(studio=studio, kind="mix")
    keep_run_off(pot, 40, 2)

    assert price(pot, 100) == (5, LAST_PAID)  # 0.05 an mL
