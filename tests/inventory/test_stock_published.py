"""A published worked example run through the services, both methods, to the cent.

Hermanson, Edwards and Maher, *Accounting Principles: A Business Perspective* (open text,
CC BY 3.0), ch. 7, pp. 292-294: perpetual FIFO, and the moving average that follows it.
"""

from decimal import ROUND_HALF_UP, Decimal

import pytest

from inventory import books
from tests.factories.inventory import MaterialFactory
from tests.inventory.shelves import receive, shelf, use

D = Decimal
pytestmark = pytest.mark.django_db

# (bought, at) or (sold, None)
HISTORY = [
    (10, "8.00"),
    (10, "8.50"),
    (10, None),
    (20, "8.40"),
    (20, None),
    (10, "9.00"),
    (10, None),
    (20, "8.80"),
    (20, None),
    (10, "9.10"),
]
FIFO = (["80.00", "169.00", "84.00", "178.00"], "511.00", "179.00")
# The book's last issue is 20 at an average that ends in a rounding: 175.1667.
MOVING_AVERAGE = (["82.50", "167.00", "86.75", "175.17"], "511.42", "178.58")


def cents(amount):
    return amount.quantize(D("0.01"), ROUND_HALF_UP)


@pytest.mark.parametrize(
    ("costing", "printed"), [("fifo", FIFO), ("moving_average", MOVING_AVERAGE)]
)
def test_the_services_cost_as_the_book_prints(studio, costing, printed):
    studio.costing = costing
    studio.save()
    item = MaterialFactory(studio=studio, unit="each")

    issues = []
    for quantity, price in HISTORY:
        if price:
            receive(item, (quantity, quantity * D(price)))
        else:
            moves = use(item, quantity).movements.values_list("value", flat=True)
            issues.append(-sum(moves))

    each, sold, left = printed
    assert [cents(issue) for issue in issues] == [D(issue) for issue in each]
    assert cents(sum(issues)) == D(sold)
    on_hand, value = shelf(item)
    assert (on_hand, cents(value)) == (D(20), D(left))
    assert sum(issues) + value == D("690.00")
    assert books.check(studio) == []
