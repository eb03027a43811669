"""What came without an order, several packs at once; whole items as one lot; orders by hand."""

import pytest
from django.core.management import call_command
from django.urls import reverse

from inventory.buying import purchasing
from inventory.buying.purchasing import Arrival
from inventory.errors import BadAmount, OrderRefused
from inventory.stock import ledger as stock
from inventory.supplies.price_history import price_history
from tests.factories.inventory import MaterialFactory, PackFactory, SupplierFactory
from tests.inventory.pages import words
from tests.inventory.stock.shelves import D, shelf, use


@pytest.fixture
def shop(studio):
    return SupplierFactory(studio=studio, name="Quarry Boards")


@pytest.fixture
def boxes(studio, shop):
    """Boxes sold in tens at 13.50."""
    box = MaterialFactory(studio=studio, name="Coaster box", kind="packaging", unit="each")
    return PackFactory(studio=studio, supplier=shop, material=box, size=D(10), price=D("13.50"))


@pytest.fixture
def paint(studio):
    return PackFactory(studio=studio, material__name="White", size=D(500), price=D(8))


def test_what_came_from_two_suppliers_is_one_act_and_items_are_one_lot(studio, boxes, paint):
    deliveries = purchasing.receive_arrivals(
        studio=studio,
        by=None,
        arrivals=[
            Arrival(boxes.material, 2, pack=boxes),
            Arrival(paint.material, 3, pack=paint, price=D(9)),
        ],
    )

    assert [delivery.supplier for delivery in deliveries] == [boxes.supplier, paint.supplier]
    lot = boxes.material.bottles.get()
    assert (lot.remaining, lot.value, lot.price_paid, lot.pack_count) == (20, 27, 27, 2)
    assert lot.named.startswith("20 × Coaster box, received ")
    assert list(paint.material.bottles.values_list("remaining", "value")) == [(500, 9)] * 3
    paint.refresh_from_db()
    assert paint.price == 9
    call_command("check_books")


def test_nothing_is_received_where_one_line_is_wrong_and_shipping_is_one_suppliers(
    studio, boxes, paint
):
    good, other = Arrival(boxes.material, 1, pack=boxes), Arrival(paint.material, 1, pack=paint)

    with pytest.raises(OrderRefused, match="one supplier"):
        purchasing.receive_arrivals(studio=studio, by=None, arrivals=[good, other], freight=D(4))
    with pytest.raises(BadAmount):
        purchasing.receive_arrivals(
            studio=studio, by=None, arrivals=[good, Arrival(paint.material, 1)]
        )

    assert not studio.deliveries.exists()
    assert not studio.bottles.exists()


def test_freight_on_a_lot_is_exact_and_its_items_leave_at_their_share(studio, boxes):
    purchasing.receive_arrivals(
        studio=studio, by=None, arrivals=[Arrival(boxes.material, 3, pack=boxes)], freight=D("1")
    )
    box = boxes.material

    assert shelf(box) == (D(30), D("41.5"))  # 3 × 13.50 + 1
    use(box, 7)
    assert shelf(box) == (D(23), D("41.5") - D("9.683333"))  # 7/30 of it, to six places
    (paid,) = price_history(box)
    assert (paid.bottles, paid.size, paid.price) == (3, 10, D("13.5"))
    assert round(paid.unit_landed, 6) == D("1.383333")
    call_command("check_books")


def test_an_order_of_items_comes_as_one_lot_and_undone_all_its_packs_are_to_come(studio, boxes):
    order = purchasing.order_by_hand(
        studio=studio, by=None, supplier=boxes.supplier, packs={boxes: 4}
    )
    line = order.lines.get()
    delivery = purchasing.receive_order(order=order, by=None, counts={line: 3})

    assert delivery.bottles.get().remaining == 30
    stock.reverse(studio=studio, by=None, entry=delivery.entry, why="not ours")

    line.refresh_from_db()
    assert (line.count, line.received_count) == (4, 0)
    call_command("check_books")


def test_a_pack_of_items_keeps_its_size_once_some_came(maker, studio, boxes):
    purchasing.receive_arrivals(
        studio=studio, by=None, arrivals=[Arrival(boxes.material, 1, pack=boxes)]
    )
    sent = {"material": boxes.material_id, "size": "12", "price": "13.50", "minimum_count": "1"}

    page = maker.client.post(reverse("pack-edit", args=[boxes.pk]), sent)

    assert page.status_code == 422
    assert "its size stays" in words(page)


def test_a_pack_holds_what_its_label_says_in_any_unit(maker, studio, paint):
    studio.measures = "us"
    studio.save()
    sent = {"material": paint.material_id, "price": "8", "minimum_count": "1", "tare_g": "1.6 oz"}

    maker.client.post(reverse("pack-edit", args=[paint.pk]), sent | {"size": "32 fl oz"})

    paint.refresh_from_db()
    # 32 US fl oz of 29.5735295625 mL; 1.6 oz of 28.349523125 g (NIST Handbook 44, app. C).
    assert (paint.size, paint.tare_g) == (D("946.3529"), D("45.36"))
    page = maker.client.get(reverse("pack-edit", args=[paint.pk])).content.decode()
    assert 'value="946.3529 mL"' in page


def test_lines_on_the_page_are_received_and_wrong_ones_named_with_nothing_lost(
    maker, studio, boxes, paint
):
    lines = {"lines-TOTAL_FORMS": "3", "lines-INITIAL_FORMS": "0", "received_on": "2026-03-02"}
    lines |= {"reference": "INV 7", "freight": ""}
    for place, (what, count) in enumerate(((f"pack-{boxes.pk}", "2"), ("", "1"), ("", ""))):
        lines |= {f"lines-{place}-what": what, f"lines-{place}-count": count}
        lines |= {f"lines-{place}-{name}": "" for name in ("size", "price", "expires_on")}

    refused = maker.client.post(reverse("what-came"), lines)
    assert refused.status_code == 422
    assert "Say what it is." in words(refused)
    assert not studio.bottles.exists()
    mended = lines | {"lines-1-what": f"pack-{paint.pk}", "lines-1-size": "16 fl oz"}
    mended |= {"lines-1-price": "5"}
    told = words(maker.client.post(reverse("what-came"), mended, follow=True))

    assert "On the shelf: 20 × Coaster box." in told
    assert paint.supplier.packs.count() == 2  # another size is another pack
    assert set(studio.deliveries.values_list("reference", flat=True)) == {"INV 7"}


def test_an_order_is_written_by_hand(maker, studio, boxes):
    blank = {"notes": "Ring the bell"}
    address = f"{reverse('order-new')}?supplier={boxes.supplier_id}"
    counts = {f"count_{boxes.pk}": "3", f"price_{boxes.pk}": "12.00"}

    nothing = maker.client.post(address, blank | {f"count_{boxes.pk}": "", f"price_{boxes.pk}": ""})
    assert nothing.status_code == 422
    told = words(maker.client.post(address, blank | counts, follow=True))

    order = studio.purchase_orders.get()
    assert order.lines.values_list("pack", "count", "unit_price").get() == (boxes.pk, 3, 12)
    assert "Ring the bell" in told
    assert order.status == "draft"
