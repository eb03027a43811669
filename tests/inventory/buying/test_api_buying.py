"""Buying through the API: alerts, promises, the plan, orders and what came of them."""

from decimal import Decimal as D

import pytest
from rest_framework.test import APIClient

from inventory.models import Bottle, Delivery, PurchaseOrder
from inventory.stock import ledger as stock
from tests.factories.inventory import (
    HoldFactory,
    MaterialFactory,
    OrderLineFactory,
    PackFactory,
    PurchaseOrderFactory,
    SupplierFactory,
)

API = "/api/v1/"


@pytest.fixture
def white(studio):
    """A paint of which 100 mL are on hand and 450 are promised; a pack of 250 costs 10.00."""
    material = MaterialFactory(studio=studio, name="white")
    supplier = SupplierFactory(studio=studio, name="Paint Cupboard", shipping_fee=D(4))
    material.pack = PackFactory(
        studio=studio, supplier=supplier, material=material, size=D(250), price=D(10)
    )
    receipt = stock.Receipt(material=material, quantity=D(100), value=D(4))
    stock.receive(studio=studio, by=None, receipts=[receipt])
    HoldFactory(studio=studio, material=material, quantity=D(450), label="Commission 1")
    return material


def post(person, path, body=None, key=""):
    headers = {"Idempotency-Key": key} if key else {}
    return person.api.post(f"{API}{path}", body or {}, headers=headers)


def test_alerts_say_what_is_short_and_for_what(viewer, white):
    (alert,) = viewer.api.get(f"{API}alerts/").data["results"]

    assert (alert["kind"], alert["material"]["name"]) == ("held_beyond_stock", "white")
    assert "lacks 350 mL" in alert["sentence"]
    assert "Commission 1" in alert["sentence"]


def test_holds_say_how_much_of_each_is_there(viewer, studio, white):
    HoldFactory(studio=studio, material=white, quantity=D(30), label="Commission 2")

    rows = viewer.api.get(f"{API}holds/").data["results"]

    # First promised first served: 100 of 450, and nothing is left for the second.
    assert [(row["label"], row["outstanding"], row["covered"]) for row in rows] == [
        ("Commission 1", "450.0000", "100.0000"),
        ("Commission 2", "30.0000", "0.0000"),
    ]
    assert viewer.api.get(f"{API}materials/{white.pk}/").data["available"] == "-380.0000"


def test_the_plan_buys_whole_packs_and_says_why(maker, white):
    plan = maker.api.get(f"{API}reorder-plan/").data

    # 350 mL are missing: two packs of 250 at 10.00, and 4.00 to bring them.
    ((line,),) = (order["lines"] for order in plan["orders"])
    assert (line["count"], line["cost"], line["covers"]) == (2, "20.000", "500.0000")
    assert (plan["goods"], plan["shipping"], plan["total"]) == ("20.000", "4.000", "24.000")
    assert plan["proven"] is True
    assert "Commission 1" in line["why"]


def test_a_budget_too_small_is_refused_in_words_and_nonsense_at_its_field(maker, white):
    small = maker.api.get(f"{API}reorder-plan/", {"budget": "5"})
    nonsense = maker.api.get(f"{API}reorder-plan/", {"budget": "plenty"})

    assert (small.status_code, small.data["code"]) == (409, "no_plan")
    assert (nonsense.status_code, set(nonsense.data["fields"])) == (400, {"budget"})


def test_the_reorder_sheet_is_a_pdf_and_its_refusal_is_not(maker, white):
    sheet = maker.api.get(f"{API}reorder-plan/sheet/", headers={"Accept": "application/pdf"})
    refused = maker.api.get(f"{API}reorder-plan/sheet/?budget=5")

    assert (sheet.status_code, sheet["Content-Type"]) == (200, "application/pdf")
    assert sheet.content.startswith(b"%PDF-")
    assert refused.json()["code"] == "no_plan"


def test_an_order_goes_from_plan_to_shelf(maker, white):
    (order,) = post(maker, "orders/").data
    address = f"orders/{order['number']}/"
    line = order["lines"][0]
    maker.api.patch(f"{API}{address}lines/{line['id']}/", {"count": 3})
    sent = post(maker, f"{address}send/").data
    sheet = maker.api.get(f"{API}{address}sheet/")

    part = post(
        maker,
        f"{address}receive/",
        {"lines": [{"line": line["id"], "count": 1, "price": "11"}], "freight": "2"},
    )
    learnt = maker.api.get(f"{API}packs/{white.pack.pk}/").data["price"]
    rest = post(maker, f"{address}receive/", {"lines": [{"line": line["id"], "count": 2}]})
    done = maker.api.get(f"{API}{address}").data

    assert (order["status"], sent["status"], done["status"]) == ("draft", "sent", "received")
    assert (sent["lines"][0]["count"], sent["lines"][0]["amount"]) == (3, "30.000")
    assert sent["expected_on"] is not None
    assert sheet.content.startswith(b"%PDF-")
    # 11.00 and 2.00 of freight on one bottle, then two at the order's 10.00.
    assert [row["value"] for row in part.data["bottles"]] == ["13.000000"]
    assert [row["value"] for row in rest.data["bottles"]] == ["10.000000", "10.000000"]
    assert part.data["order"] == order["number"]
    assert maker.api.get(f"{API}deliveries/{part.data['id']}/").data == part.data
    assert learnt == "11.000"
    # 850 mL are there for 450 mL, and what is left is above any reorder point known.
    assert maker.api.get(f"{API}alerts/").data["results"] == []


def test_more_than_is_to_come_is_refused_and_nothing_is_received(maker, studio, white):
    order = PurchaseOrderFactory(studio=studio, supplier=white.pack.supplier, status="sent")
    line = OrderLineFactory(order=order, pack=white.pack, count=2)

    answer = post(
        maker, f"orders/{order.number}/receive/", {"lines": [{"line": line.pk, "count": 3}]}
    )

    assert (answer.status_code, answer.data["code"]) == (409, "order_refused")
    assert Bottle.objects.count() == 1
    assert not Delivery.objects.exists()


def test_a_line_of_another_order_does_not_exist(maker, studio, other_owner, white):
    mine = PurchaseOrderFactory(studio=studio, status="sent")
    theirs = OrderLineFactory(order=PurchaseOrderFactory(studio=other_owner.studio, status="sent"))

    answer = post(
        maker, f"orders/{mine.number}/receive/", {"lines": [{"line": theirs.pk, "count": 1}]}
    )

    assert answer.status_code == 400
    assert "does not exist" in str(answer.data["fields"]["lines"])


def test_a_pack_is_added_to_a_draft_and_a_line_taken_out(maker, studio, white):
    order = PurchaseOrderFactory(studio=studio, supplier=white.pack.supplier)
    address = f"orders/{order.number}/"

    added = post(maker, f"{address}lines/", {"pack": white.pack.pk, "count": 2})
    line = added.data["lines"][0]["id"]
    gone = maker.api.patch(f"{API}{address}lines/{line}/", {"count": 0})
    empty = post(maker, f"{address}send/")

    assert (added.status_code, added.data["shipping"]) == (201, "4.000")
    assert gone.data["lines"] == []
    assert (empty.status_code, empty.data["code"]) == (409, "order_refused")


def test_an_unknown_name_is_refused_by_name(maker, studio, white):
    order = PurchaseOrderFactory(studio=studio, status="sent")

    field = post(maker, f"orders/{order.number}/receive/", {"lines": [{"packs": 1}], "paid": 1})
    nothing = post(maker, f"orders/{order.number}/cancel/", {"why": "late"})
    answers = [
        maker.api.get(f"{API}{path}", {"until": "2026-01-01"})
        for path in ("alerts/", "orders/", "reorder-plan/", "reorder-plan/sheet/", "running-out/")
    ]

    assert (field.status_code, set(field.data["fields"])) == (400, {"lines.0.packs", "paid"})
    assert (nothing.status_code, set(nothing.data["fields"])) == (400, {"why"})
    assert [(one.status_code, set(one.data["fields"])) for one in answers] == [(400, {"until"})] * 5


def test_a_line_is_not_changed_on_an_order_that_changed_meanwhile(maker, studio, white):
    order = PurchaseOrderFactory(studio=studio, supplier=white.pack.supplier)
    line = OrderLineFactory(order=order, pack=white.pack, count=2)
    address = f"{API}orders/{order.number}/"
    unmatched = APIClient()
    unmatched.credentials(**maker.api._credentials)
    read = maker.api.get(address)
    change, version = f"{address}lines/{line.pk}/", {"If-Match": read["ETag"]}

    first = maker.api.patch(change, {"count": 3}, headers=version)
    stale = maker.api.patch(change, {"count": 4}, headers=version)
    unsaid = unmatched.patch(change, {"count": 5}, format="json")
    sent = maker.api.post(f"{address}send/", headers=version)

    assert [one.status_code for one in (first, stale, unsaid, sent)] == [200, 412, 428, 412]
    now = maker.api.get(address)
    assert (now.data["lines"][0]["count"], now.data["status"]) == (3, "draft")
    assert now["ETag"] == first["ETag"]


def test_orders_are_found_by_supplier_and_where_they_stand(maker, studio, other_owner, white):
    PurchaseOrderFactory(studio=studio, supplier=white.pack.supplier, status="sent")
    PurchaseOrderFactory(studio=studio)
    theirs = PurchaseOrderFactory(studio=other_owner.studio)

    counts = {
        query: maker.api.get(f"{API}orders/?{query}").data["count"]
        for query in (
            f"supplier={white.pack.supplier_id}",
            f"supplier={theirs.supplier_id}",
            "status=sent",
            "search=cupboard",
            "sort=-number",
        )
    }

    assert list(counts.values()) == [1, 0, 1, 1, 2]


def test_an_order_is_called_off_once(maker, studio):
    order = PurchaseOrderFactory(studio=studio)

    first, second = (post(maker, f"orders/{order.number}/cancel/") for _ in range(2))

    assert first.data["status"] == "cancelled"
    assert (second.status_code, second.data["code"]) == (409, "order_refused")


def test_nothing_to_buy_makes_no_order(maker, studio):
    answer = post(maker, "orders/")

    assert (answer.status_code, answer.data["code"]) == (409, "order_refused")


def test_one_key_orders_and_receives_once(maker, white):
    first, again = (post(maker, "orders/", key="k1") for _ in range(2))
    address = f"orders/{first.data[0]['number']}/"
    post(maker, f"{address}send/")
    body = {"lines": [{"line": first.data[0]["lines"][0]["id"], "count": 2}]}
    came, came_again = (post(maker, f"{address}receive/", body, key="k2") for _ in range(2))

    assert (first.status_code, first.json()) == (again.status_code, again.json())
    assert (came.status_code, came.json()) == (came_again.status_code, came_again.json())
    assert PurchaseOrder.objects.count() == 1
    assert Delivery.objects.count() == 1
