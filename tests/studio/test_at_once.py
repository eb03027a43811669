"""Who changes the studio in the moment in which others move its stock holds nobody up for good."""

from decimal import Decimal

import pytest
from django.conf import settings

from inventory.stock import books
from inventory.stock import ledger as stock
from studio import preferences
from tests.factories.inventory import MaterialFactory
from tests.inventory.stock.shelves import receive
from tests.inventory.stock.test_concurrency import at_once

PEOPLE, TIMES = 6, 8
ZONES = ("Europe/Dublin", "Australia/Perth")
pytestmark = pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)


def test_the_time_zone_is_changed_while_stock_moves(studio):
    """The change waits for the material; who has it names the studio at the end of the movement."""
    paint = MaterialFactory(studio=studio)
    receive(paint, (1_000, 10))

    def use():
        for _ in range(TIMES):
            stock.use(studio=studio, by=None, amounts={paint: Decimal(1)})

    def move():
        for time in range(TIMES):
            preferences.change_settings(studio=studio, time_zone=ZONES[time % 2])

    assert at_once(move, *[use] * PEOPLE) == [None] * (PEOPLE + 1)

    paint.refresh_from_db()
    assert paint.on_hand == 1_000 - PEOPLE * TIMES
    assert books.check(studio) == []
