"""Receiving: landed cost, packs and prices learned, orders that come in part."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from inventory.buying import purchasing
from inventory.errors import BadAmount, NotInStudio, OrderRefused
from inventory.models import Bottle, Delivery, Material, with_promises
from inventory.stock import books
from inventory.stock import ledger as stock
from studio.errors import StudioError
from tests.factories.inventory import (
    MaterialFactory,
    OrderLineFactory,
    PackFactory,
    PurchaseOrderFactory,
    SupplierFactory,
)
from tests.inventory.stock.shelves import shelf

D = Decimal
pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(studio):
    return SupplierFactory(studio=studio, name="Dry Dock Paints")


@pytest.fixture
def order(studio, shop):
    """Two bottles of white at 20 and a box of fifty tiles at 60."""
    white = MaterialFactory(studio=studio, name="White", shelf_life_days=100)
    tile = MaterialFactory(studio=studio, name="Tile", unit="each", kind="surface")
    made = PurchaseOrderFactory(studio=studio, supplier=shop, status="sent", number=4)
    for material, size, price, count in ((white, 500, 20, 2), (tile, 50, 60, 1)):
        pack = PackFactory(
            studio=studio, supplier=shop, material=material, size=D(size), price=D(price)
        )
        OrderLineFactory(order=made, pack=pack, count=count)
    return made


def lines(order):
    return order.lines.order_by("pk")


def receive(order, *counts, **options):
    return purchasing.receive_order(
        order=order, by=None, counts=dict(zip(lines(order), counts, strict=True)), **options
    )


def test_freight_duty_and_discount_are_shared_by_price(studio, order):
    delivery = receive(order, 2, 1, freight=D(12), duty=D(5), discount=D(7), reference="INV 9")

    # Goods 100, landed 110: a tenth more on every bottle.
    values = list(studio.bottles.order_by("pk").values_list("capacity", "value", "price_paid"))
    assert values == [(500, 22, 20), (500, 22, 20), (50, 66, 60)]
    assert (delivery.freight, delivery.duty, delivery.discount) == (D(12), D(5), D(7))
    assert (delivery.reference, delivery.order) == ("INV 9", order)
    assert delivery.supplier == order.supplier
    assert delivery.bottles.count() == 3
    order.refresh_from_db()
    assert order.status == "received"
    assert books.check(studio) == []


def test_landed_cost_adds_up_to_the_last_place(studio, shop):
    white = MaterialFactory(studio=studio)

    purchasing.receive_delivery(
        studio=studio,
        by=None,
        supplier=shop,
        receipts=[stock.Receipt(white, D(250), D("7.99"))] * 7,
        freight=D(10),
    )

    assert shelf(white) == (D(1750), D("65.93"))


def test_an_order_may_come_in_part(studio, order):
    receive(order, 1, 0)
    order.refresh_from_db()
    assert order.status == "partly_received"

    with pytest.raises(OrderRefused, match="Of White, 500 mL, 1 are still to come"):
        receive(order, 2, 0)
    with pytest.raises(OrderRefused, match="at least one pack"):
        receive(order, 0, 0)
    receive(order, 1, 1)

    order.refresh_from_db()
    assert order.status == "received"
    assert [delivery.bottles.count() for delivery in order.deliveries.order_by("pk")] == [1, 2]
    with pytest.raises(OrderRefused, match="Order 4 is received"):
        receive(order, 0, 0)


def test_the_rest_of_an_order_can_be_called_off(studio, order):
    receive(order, 1, 0)

    purchasing.cancel_order(order=order)

    order.refresh_from_db()
    assert order.status == "received"
    assert [(line.count, line.received_count) for line in lines(order)] == [(1, 1)]
    assert with_promises(studio.materials).get(name="White").on_order == 0
    assert books.check(studio) == []


def test_a_cancelled_order_receives_nothing(order):
    purchasing.cancel_order(order=order)

    with pytest.raises(OrderRefused, match="Order 4 is cancelled"):
        receive(order, 1, 0)
    assert Bottle.objects.count() == 0


def test_prices_paid_are_learned(order):
    white, _ = lines(order)

    receive(order, 2, 0, prices={white: D("21.5")})

    white.pack.refresh_from_db()
    assert white.pack.price == D("21.5")
    assert set(Bottle.objects.values_list("value", "price_paid")) == {(D("21.5"), D("21.5"))}


def test_a_size_bought_for_the_first_time_becomes_a_pack(studio, shop):
    white = MaterialFactory(studio=studio)

    for _ in range(2):
        purchasing.receive_delivery(
            studio=studio,
            by=None,
            supplier=shop,
            receipts=[stock.Receipt(white, D(750), D("18.20"))],
        )

    (pack,) = shop.packs.all()
    assert (pack.material, pack.size, pack.price) == (white, D(750), D("18.20"))
    assert [bottle.pack for bottle in white.bottles.all()] == [pack, pack]


def test_opening_stock_teaches_no_price(studio, shop):
    white = MaterialFactory(studio=studio)

    delivery = purchasing.receive_delivery(
        studio=studio,
        by=None,
        supplier=shop,
        receipts=[stock.Receipt(white, D(120), D(3), capacity=D(500))],
        kind="opening",
    )

    assert delivery.entry.movements.get().kind == "opening"
    assert white.bottles.get().capacity == D(500)
    assert shop.packs.count() == 0


def test_an_invoice_in_another_currency_is_turned_into_the_studios(studio, order):
    delivery = receive(order, 2, 0, currency="EUR", rate=D("1.10"), freight=D(10))

    # 2 x 20 + 10 EUR at 1.10 = 55 USD.
    assert set(Bottle.objects.values_list("value", "price_paid")) == {(D("27.5"), D(22))}
    assert (delivery.currency, delivery.rate, delivery.freight) == ("EUR", D("1.10"), D(10))
    with pytest.raises(BadAmount, match="its rate is 1"):
        receive(order, 0, 1, rate=D(2))
    with pytest.raises(StudioError, match="currency is not known"):
        receive(order, 0, 1, currency="XXX", rate=D(2))


def test_a_delivery_of_another_day_is_dated_so(studio, order):
    studio.time_zone = "Pacific/Auckland"
    studio.save()
    order.refresh_from_db()

    delivery = receive(order, 1, 0, received_on=date(2026, 3, 2))

    bottle = delivery.bottles.get()
    assert (bottle.received_on, bottle.expires_on) == (date(2026, 3, 2), date(2026, 6, 10))
    assert delivery.entry.happened_at == datetime(2026, 3, 1, 23, tzinfo=UTC)
    with pytest.raises(BadAmount, match="not in the future"):
        receive(order, 1, 0, received_on=studio.today() + timedelta(days=9))


def test_undoing_a_delivery_puts_it_back_on_order(studio, order):
    first = receive(order, 1, 1)
    order.refresh_from_db()
    receive(order, 1, 0)

    stock.reverse(studio=studio, by=None, entry=first.entry, why="Wrong parcel")

    order.refresh_from_db()
    assert order.status == "partly_received"
    assert [line.received_count for line in lines(order)] == [1, 0]
    assert with_promises(Material.objects).get(name="White").on_order == D(500)
    assert books.check(studio) == []


@pytest.mark.parametrize("extra", ["discount", "freight", "duty"])
def test_amounts_that_cannot_be_leave_everything_as_it_was(order, extra):
    for amount in (D(-1), D("NaN")):
        with pytest.raises(BadAmount):
            receive(order, 1, 0, **{extra: amount})
    with pytest.raises(StudioError, match="more than the goods"):
        receive(order, 1, 0, discount=D(21))

    assert (Bottle.objects.count(), Delivery.objects.count()) == (0, 0)
    assert [line.received_count for line in lines(order)] == [0, 0]


def test_another_studios_lines_packs_and_suppliers_are_not_there(studio, order):
    foreign = OrderLineFactory()
    white = MaterialFactory(studio=studio)

    with pytest.raises(NotInStudio):
        purchasing.receive_order(order=order, by=None, counts={foreign: 1})
    with pytest.raises(NotInStudio):
        purchasing.receive_delivery(
            studio=studio,
            by=None,
            supplier=foreign.pack.supplier,
            receipts=[stock.Receipt(white, D(1), D(1))],
        )
    with pytest.raises(NotInStudio):
        stock.receive(
            studio=studio, by=None, receipts=[stock.Receipt(white, D(1), D(1), pack=foreign.pack)]
        )
    assert Bottle.objects.count() == 0
