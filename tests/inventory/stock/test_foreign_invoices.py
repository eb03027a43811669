"""An invoice in another currency: every amount in it, at the day's rate typed by hand."""

import pytest

from inventory.stock import books
from tests.factories.inventory import (
    MaterialFactory,
    OrderLineFactory,
    PackFactory,
    PurchaseOrderFactory,
)
from tests.inventory.pages import words
from tests.inventory.stock.shelves import D, shelf


@pytest.fixture
def order(studio):
    """Two bottles of white, which last cost 20.00 in the studio's own dollars."""
    white = MaterialFactory(studio=studio, name="White")
    made = PurchaseOrderFactory(studio=studio, status="sent", number=4)
    pack = PackFactory(
        studio=studio, supplier=made.supplier, material=white, size=D(500), price=D(20)
    )
    made.line = OrderLineFactory(order=made, pack=pack, count=2)
    made.white = white
    return made


def typed(order, **more):
    return {
        f"count_{order.line.pk}": 2,
        f"price_{order.line.pk}": "18.50",
        "received_on": str(order.studio.today()),
        "freight": "9.00",
        "duty": "2.00",
        "discount": "4.00",
        "currency": "EUR",
        "rate": "1.0873",
    } | more


def test_the_page_lands_a_foreign_invoice_at_its_rate(maker, order):
    answer = maker.client.post("/orders/4/receive/", typed(order))

    # (2 x 18.50 - 4 + 9 + 2) EUR = 44 EUR at 1.0873 = 47.8412 USD, half on each bottle.
    assert answer.status_code == 302
    assert shelf(order.white) == (D(1000), D("47.8412"))
    assert set(order.white.bottles.values_list("value", flat=True)) == {D("23.9206")}
    delivery = order.deliveries.get()
    assert (delivery.currency, delivery.rate, delivery.duty) == ("EUR", D("1.0873"), D(2))
    assert books.check(order.studio) == []


@pytest.mark.parametrize(
    ("gap", "sentence"),
    [
        ({"rate": ""}, "Give the rate of the day: how many USD one EUR was worth."),
        ({"rate": "0"}, "greater than or equal to"),
        ({"price_": ""}, "Give it as on the invoice, in EUR"),
        ({"currency": "USD"}, "so its rate is 1"),
    ],
)
def test_the_page_asks_for_what_a_foreign_invoice_needs(maker, order, gap, sentence):
    data = typed(order)
    for name, value in gap.items():
        data[f"price_{order.line.pk}" if name == "price_" else name] = value

    answer = maker.client.post("/orders/4/receive/", data)

    assert answer.status_code == 422
    assert sentence in words(answer)
    assert not order.deliveries.exists()


def test_without_an_order_too(maker, studio):
    white = MaterialFactory(studio=studio, name="White")
    data = {
        "bottles": 2,
        "size": "250 mL",
        "price": "1000",
        "freight": "500",
        "discount": "100",
        "received_on": str(studio.today()),
        "currency": "JPY",
        "rate": "0.0065",
    }

    answer = maker.client.post(f"/stock/{white.pk}/receive/", data)

    # 2 x 1000 + 500 - 100 = 2400 JPY at 0.0065 = 15.60 USD.
    assert answer.status_code == 302
    assert shelf(white) == (D(500), D("15.6"))


def test_the_api_takes_the_currency_and_the_rate(maker, order):
    line = {"line": order.line.pk, "count": 2, "price": "18.50"}
    path = "/api/v1/orders/4/receive/"
    bare = {"lines": [{"line": order.line.pk, "count": 2}]}

    rateless = maker.api.post(path, {"lines": [line], "currency": "EUR"})
    assert set(rateless.data["fields"]) == {"rate"}
    priceless = maker.api.post(path, bare | {"currency": "EUR", "rate": "1.0873"})
    assert set(priceless.data["fields"]) == {"lines"}
    made = maker.api.post(
        path, {"lines": [line], "currency": "EUR", "rate": "1.0873", "freight": "7.00"}
    )

    assert (made.status_code, made.data["currency"]) == (201, "EUR")
    assert shelf(order.white) == (D(1000), D("47.8412"))
    unknown = maker.api.post(path, bare | {"currency": "XXX", "rate": "2"})
    assert unknown.status_code in (400, 409)


def test_an_amount_has_the_decimals_of_its_own_currency(maker, studio):
    white = MaterialFactory(studio=studio, name="White")
    receipt = {"material": white.pk, "quantity": "250 mL", "price": "1000.50"}

    answer = maker.api.post(
        "/api/v1/deliveries/", {"receipts": [receipt], "currency": "JPY", "rate": "0.0065"}
    )

    assert answer.status_code == 400
    assert set(answer.data["fields"]) == {"receipts.0.price"}
