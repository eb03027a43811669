"""Published worked examples run through the services, both methods, to the cent.

The same histories as in tests/checks/test_published_costing.py, where the arithmetic alone is
checked; their sources stand there. Here every purchase is a delivery and every sale a use.
"""

from decimal import ROUND_HALF_UP, Decimal

import pytest

from inventory.buying import purchasing
from inventory.stock import books
from inventory.stock import ledger as stock
from tests.checks.test_published_costing import (
    F3,
    FINCAL,
    FORUM,
    HERMANSON,
    MA1,
    OPENSTAX,
    WORKBOOK,
)
from tests.factories.inventory import MaterialFactory
from tests.inventory.stock.histories import Buy
from tests.inventory.stock.shelves import receive, shelf, use

D = Decimal
pytestmark = pytest.mark.django_db

# name: history, method, cost of each issue, cost of all, what is left; in cents as printed, where
# the source prints fewer decimals than cents the exact figure rounds to them.
PRINTED = {
    "Hermanson, FIFO": (HERMANSON, "fifo", ["80", "169", "84", "178"], "511", "179"),
    # The book's last issue is 20 at an average that ends in a rounding: 175.1667.
    "Hermanson, moving average": (
        HERMANSON,
        "moving_average",
        ["82.50", "167", "86.75", "175.17"],
        "511.42",
        "178.58",
    ),
    "OpenStax, FIFO": (OPENSTAX, "fifo", ["2520", "4680"], "7200", "8955"),
    "OpenStax, moving average": (
        OPENSTAX,
        "moving_average",
        ["2520", "4732.94"],
        "7252.94",
        "8902.06",
    ),
    "F1 workbook, FIFO": (WORKBOOK, "fifo", ["3900"], "3900", "3900"),
    "F1 workbook, moving average": (WORKBOOK, "moving_average", ["4000"], "4000", "3800"),
    "FinCal, FIFO": (FINCAL, "fifo", ["23"], "23", "15"),
    "FinCal, average": (FINCAL, "moving_average", ["26.60"], "26.60", "11.40"),
    "MA1, FIFO": (MA1, "fifo", ["4000"], "4000", "4000"),
    "MA1, moving average": (MA1, "moving_average", ["4266.67"], "4266.67", "3733.33"),
    "forum, moving average": (FORUM, "moving_average", ["29.17"], "29.17", "60.83"),
    "F3, moving average": (F3, "moving_average", ["23744", "36078.55"], "59822.55", "8017.45"),
}


def cents(amount):
    return amount.quantize(D("0.01"), ROUND_HALF_UP)


@pytest.mark.parametrize("example", PRINTED)
def test_the_services_cost_as_it_is_printed(studio, example):
    history, costing, each, sold, left = PRINTED[example]
    studio.costing = costing
    studio.save()
    item = MaterialFactory(studio=studio, unit="each")

    issues = []
    for event in history:
        if isinstance(event, Buy):
            receive(item, (event.quantity, event.value))
        else:
            moves = use(item, event.quantity).movements.values_list("value", flat=True)
            issues.append(-sum(moves))

    assert [cents(issue) for issue in issues] == [D(issue) for issue in each]
    assert cents(sum(issues)) == D(sold)
    on_hand, value = shelf(item)
    assert cents(value) == D(left)
    bought = [event for event in history if isinstance(event, Buy)]
    assert sum(issues) + value == sum(event.value for event in bought)
    assert on_hand == sum(e.quantity * (1 if isinstance(e, Buy) else -1) for e in history)
    assert books.check(studio) == []


@pytest.mark.parametrize("costing", ("fifo", "moving_average"))
def test_freight_reaches_the_cost_of_what_is_used(studio, costing):
    """A maker's own figures, as in tests/checks: 160 oz for 65.49 are 0.41 an ounce, and with 11.18
    of freight 0.48."""
    studio.costing = costing
    studio.save()
    item = MaterialFactory(studio=studio, unit="each")
    receipt = stock.Receipt(item, D(160), D("65.49"))

    purchasing.receive_delivery(studio=studio, by=None, receipts=[receipt], freight=D("11.18"))

    (move,) = use(item, 1).movements.values_list("value", flat=True)
    assert cents(-move) == D("0.48")


def test_what_goes_back_goes_at_its_own_bottles_landed_cost(studio):
    """IAS 2.10-11 and 2.25: cost with its freight, specific to the lot that is sent back.

    Goods 30 and 10, freight 8: shared by price, 36 and 12. Half of the second, 6, goes back.
    """
    item = MaterialFactory(studio=studio, unit="each")
    receipts = [stock.Receipt(item, D(10), D(price)) for price in (30, 10)]
    delivery = purchasing.receive_delivery(studio=studio, by=None, receipts=receipts, freight=D(8))
    second = delivery.bottles.order_by("pk")[1]

    entry = stock.send_back(studio=studio, by=None, bottle=second, quantity=D(5))

    assert entry.movements.get().value == D(-6)
    assert shelf(item) == (D(15), D(42))


def test_under_the_average_what_goes_back_goes_at_the_average(studio):
    studio.costing = "moving_average"
    studio.save()
    item = MaterialFactory(studio=studio, unit="each")
    _, second = receive(item, (10, 80), (10, 90))

    entry = stock.send_back(studio=studio, by=None, bottle=second, quantity=D(10))

    assert [move.value for move in entry.movements.all()] == [D(-85)]
    assert shelf(item) == (D(10), D(85))
