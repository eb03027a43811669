"""Price breaks and tiers of shipping: typed, sent, brought in, ordered by, and learned."""

import pytest
from django.urls import reverse

from inventory.buying import purchasing
from inventory.models import OrderLine
from inventory.steps import PRICE_BREAKS, SHIPPING_TIERS
from inventory.stock import ledger as stock
from inventory.stock.exports import LISTS
from tests.factories.inventory import (
    MaterialFactory,
    PackFactory,
    PurchaseOrderFactory,
    SupplierFactory,
)
from tests.inventory.pages import words
from tests.inventory.stock.shelves import D

BREAKS = [{"min_count": 3, "price": "9"}, {"min_count": 6, "price": "8"}]
TIERS = [{"goods_from": "20", "fee": "3"}, {"goods_from": "40", "fee": "1"}]


@pytest.fixture
def pack(studio):
    """White at 10.00, 9.00 from three and 8.00 from six; shipping 5, 3 from 20, 1 from 40."""
    supplier = SupplierFactory(
        studio=studio, name="Dry Dock", shipping_fee=D(5), shipping_tiers=TIERS
    )
    white = MaterialFactory(studio=studio, name="White", reorder_point=D(100))
    return PackFactory(
        studio=studio, supplier=supplier, material=white, size=D(100), price_breaks=BREAKS
    )


@pytest.mark.parametrize(
    ("text", "stored"),
    (
        ("3 at 9; 6 at 8", BREAKS),
        ("from 3: 9.00\n6 = $8", [{"min_count": 3, "price": "9.00"}, BREAKS[1]]),
        ("", []),
    ),
)
def test_steps_are_read_as_people_write_them(text, stored):
    assert PRICE_BREAKS.read(text, "USD") == stored


def test_steps_are_written_as_they_are_read():
    assert PRICE_BREAKS.written(BREAKS) == "3 at 9; 6 at 8"
    assert SHIPPING_TIERS.read(SHIPPING_TIERS.written(TIERS), "USD") == TIERS


def test_the_plan_buys_more_where_the_break_makes_it_cheaper(studio, pack):
    # Five packs at 9.00 are 45.00, six at 8.00 are 48.00: no. Eight missing mL more: six.
    for point, count, price in ((500, 5, 9), (501, 6, 8)):
        pack.material.reorder_point = D(point)
        pack.material.save()
        (order,) = purchasing.plan(studio=studio).orders
        (line,) = order.lines
        assert (line.count, line.unit_price) == (count, price)
        assert order.shipping == 1


def test_a_line_follows_the_break_and_the_order_the_tier(studio, pack):
    order = PurchaseOrderFactory(studio=studio, supplier=pack.supplier)

    def now():
        order.refresh_from_db()
        line = OrderLine.objects.get(order=order)
        return line.count, line.unit_price, order.shipping

    line = purchasing.add_line(order=order, pack=pack, count=1)
    assert now() == (1, 10, 5)
    purchasing.add_line(order=order, pack=pack, count=2)
    assert now() == (3, 9, 3)
    purchasing.edit_line(line=line, count=6)
    assert now() == (6, 8, 1)
    purchasing.edit_line(line=line, count=2)
    assert now() == (2, 10, 3)
    purchasing.edit_line(line=line, count=2, unit_price=D("7.5"))
    assert now() == (2, D("7.5"), 5)


def test_the_form_keeps_them_and_says_what_is_wrong_beside_them(maker, studio, pack):
    here = reverse("pack-edit", args=[pack.pk])
    shown = maker.client.get(here).content.decode()
    assert 'value="3 at 9; 6 at 8"' in shown

    typed = {"material": pack.material_id, "size": "100", "price": "10", "minimum_count": "1"}
    typed |= {"label": "", "is_on_offer": "on"}
    rising = maker.client.post(here, typed | {"price_breaks": "3 at 11"})
    unclear = maker.client.post(here, typed | {"price_breaks": "by the dozen"})
    assert (rising.status_code, unclear.status_code) == (422, 422)
    assert "11 is not below 10" in words(rising)
    assert "“by the dozen” cannot be read" in words(unclear)

    maker.client.post(here, typed | {"price_breaks": "12 at 7.90"})
    pack.refresh_from_db()
    assert pack.price_breaks == [{"min_count": 12, "price": "7.90"}]


def test_pages_show_prices_and_shipping_by_the_step(maker, pack):
    for address in (
        reverse("supplier", args=[pack.supplier_id]),
        reverse("material", args=[pack.material_id]),
    ):
        assert "$9.00 each from 3 · $8.00 each from 6" in words(maker.client.get(address))
    said = words(maker.client.get(reverse("supplier", args=[pack.supplier_id])))
    assert "$5.00, $3.00 from $20.00, $1.00 from $40.00" in said


def test_the_api_reads_and_writes_them_and_refuses_what_does_not_fall(maker, pack):
    address = f"/api/v1/packs/{pack.pk}/"
    assert maker.api.get(address).data["price_breaks"][1] == {"min_count": 6, "price": "8.000"}

    wrong = maker.api.patch(address, {"price_breaks": [{"min_count": 3, "price": "10"}]})
    right = maker.api.patch(address, {"price_breaks": [{"min_count": 4, "price": "9.5"}]})
    assert (wrong.status_code, set(wrong.data["fields"])) == (400, {"price_breaks"})
    assert right.data["price_breaks"] == [{"min_count": 4, "price": "9.500"}]

    address = f"/api/v1/suppliers/{pack.supplier_id}/"
    late = maker.api.patch(address, {"free_shipping_over": "30"})
    assert (late.status_code, set(late.data["fields"])) == (400, {"shipping_tiers"})
    kept = maker.api.patch(address, {"shipping_tiers": [{"goods_from": "25", "fee": "2"}]})
    assert kept.data["shipping_tiers"] == [{"goods_from": "25.000", "fee": "2.000"}]


def test_a_list_goes_out_as_it_can_be_brought_back_in(studio, pack):
    packs, suppliers = (
        next(one for one in LISTS if one.name == name) for name in ("packs", "suppliers")
    )
    row = dict(zip(packs.headings, next(packs.lines(studio)), strict=True))
    assert row["Price breaks"] == "3 at 9; 6 at 8"
    row = dict(zip(suppliers.headings, next(suppliers.lines(studio)), strict=True))
    assert row["Shipping tiers"] == "20 at 3; 40 at 1"


def received(studio, pack, count, price, **more):
    receipts = [stock.Receipt(pack.material, pack.size, D(price), pack=pack)] * count
    purchasing.receive_delivery(
        studio=studio, by=None, supplier=pack.supplier, receipts=receipts, **more
    )
    pack.refresh_from_db()
    return pack.price, PRICE_BREAKS.pairs(pack.price_breaks)


def test_a_price_is_learned_at_the_number_it_was_paid_for(studio, pack):
    assert received(studio, pack, 3, "8.80") == (10, [(3, D("8.80")), (6, D("8"))])
    assert received(studio, pack, 1, "10.40") == (D("10.4"), [(3, D("8.80")), (6, D("8"))])
    # Of six ordered one came: it was paid for as one of six.
    order = PurchaseOrderFactory(studio=studio, supplier=pack.supplier)
    line = purchasing.add_line(order=order, pack=pack, count=6)
    purchasing.receive_order(order=order, by=None, counts={line: 1}, prices={line: D("7.70")})
    pack.refresh_from_db()
    assert (pack.price, PRICE_BREAKS.pairs(pack.price_breaks)[1]) == (D("10.4"), (6, D("7.700")))
    # One at less than three cost: the breaks above it are none any more.
    assert received(studio, pack, 1, "8") == (8, [(6, D("7.700"))])


def test_a_delivery_of_long_ago_changes_no_price(studio, pack):
    received(studio, pack, 1, "11")
    long_ago = studio.today().replace(year=studio.today().year - 1)

    assert received(studio, pack, 1, "6", received_on=long_ago)[0] == 11


def test_what_is_not_on_offer_is_not_ordered_and_the_plan_says_why(studio, pack):
    order = PurchaseOrderFactory(studio=studio, supplier=pack.supplier)
    pack.is_on_offer = False
    pack.save()

    with pytest.raises(purchasing.orders.OrderRefused, match="marked as not sold now by Dry Dock"):
        purchasing.add_line(order=order, pack=pack, count=1)
    (note,) = purchasing.plan(studio=studio).notes
    assert note.startswith("Nobody sells White now: 100 mL from Dry Dock is marked as not sold.")

    pack.is_on_offer = True
    pack.price, pack.price_breaks = D(0), []
    pack.save()
    assert "has no price" in purchasing.plan(studio=studio).notes[0]
    pack.supplier.archived_at = order.created_at
    pack.supplier.save()
    assert "was archived. Bring it back" in purchasing.plan(studio=studio).notes[0]


def test_a_price_of_its_own_is_typed_or_sent_and_given_up_again(maker, studio, pack):
    order = PurchaseOrderFactory(studio=studio, supplier=pack.supplier)
    line = purchasing.add_line(order=order, pack=pack, count=1)

    maker.client.post(
        reverse("order-line", args=[order.number, line.pk]), {"count": 3, "unit_price": "8.25"}
    )
    line.refresh_from_db()
    assert (line.count, line.unit_price) == (3, D("8.25"))
    address = f"/api/v1/orders/{order.number}/lines/{line.pk}/"
    sent = maker.api.patch(address, {"count": 3, "unit_price": "7"}).data["lines"][0]
    assert sent["unit_price"] == "7.000"
    assert maker.api.patch(address, {"count": 6}).data["lines"][0]["unit_price"] == "8.000"
