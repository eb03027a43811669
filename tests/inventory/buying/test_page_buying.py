"""What to buy, on the page and on paper: budgets, one supplier or all, and what comes of it."""

import re
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from inventory.models import PurchaseOrder
from tests.factories.inventory import MaterialFactory, PackFactory, SupplierFactory
from tests.inventory.pages import words
from tests.inventory.stock.shelves import D


@pytest.fixture
def low(studio):
    """Two suppliers, each the only one to sell something that is out: 10 + 5 and 4 + 5."""
    for name, material, price in (("Dry Dock", "White", 10), ("Kettle Lane", "Blue", 4)):
        supplier = SupplierFactory(studio=studio, name=name, shipping_fee=D(5))
        paint = MaterialFactory(studio=studio, name=material, reorder_point=D(100))
        PackFactory(studio=studio, supplier=supplier, material=paint, price=D(price), label="Tin")
    return studio


def paper(response):
    """Return the text of a PDF that was answered, once it is seen to be one."""
    assert response["Content-Type"] == "application/pdf"
    pages = PdfReader(BytesIO(response.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_the_page_adds_up_goods_and_shipping(maker, low):
    page = words(maker.client.get(reverse("reorder")))

    assert re.search(r"In all, delivered \S*24\.00 \S*14\.00 goods, \S*10\.00 shipping", page)
    assert re.search(r"Orders 2 there is no cheaper way", page)
    assert page.index("Dry Dock") < page.index("White")


def test_the_sheet_says_what_the_page_says(maker, low):
    answer = maker.client.get(reverse("reorder-sheet"))

    said = paper(answer)
    assert answer["Content-Disposition"] == 'inline; filename="reorder-sheet.pdf"'
    for expected in ("Reorder sheet", "Dry Dock", "White", "Kettle Lane", "Blue", "24.00"):
        assert expected in said


def test_the_sheet_of_one_shop_leaves_the_others_out(viewer, low):
    kettle = low.suppliers.get(name="Kettle Lane")

    said = paper(viewer.client.get(reverse("reorder-sheet"), {"supplier": kettle.pk}))

    assert "Blue" in said
    assert "White" not in said


@pytest.mark.parametrize("supplier", ("0", "x", "99999999999999999999"))
def test_a_shop_where_nothing_is_bought_has_no_sheet(viewer, low, supplier):
    answer = viewer.client.get(reverse("reorder-sheet"), {"supplier": supplier})

    assert answer.status_code == 404


def test_a_budget_that_is_enough_goes_on_to_the_papers(maker, low):
    page = maker.client.get(reverse("reorder"), {"budget": "24"}).content.decode()

    assert f"{reverse('reorder-sheet')}?budget=24" in page
    assert re.search(r"\?budget=24&amp;supplier=\d+", page)
    assert 'name="budget" inputmode="decimal" value="24"' in page


@pytest.mark.parametrize(
    ("budget", "sentence"),
    (
        ("8.99", "The least that it could buy, "),
        ("lots", "is not an amount of money"),
        ("-5", "cannot be negative"),
    ),
)
def test_a_budget_that_cannot_be_is_refused_everywhere(maker, low, budget, sentence):
    page = maker.client.get(reverse("reorder"), {"budget": budget})
    assert sentence in words(page)
    assert f'value="{budget}"' in page.content.decode()
    assert "Turn into orders" not in words(page)

    sheet = maker.client.get(reverse("reorder-sheet"), {"budget": budget}, follow=True)
    assert sheet.redirect_chain == [(reverse("reorder"), 302)]
    assert sentence in words(sheet)

    orders = maker.client.post(reverse("make-orders"), {"budget": budget}, follow=True)
    assert sentence in words(orders)
    assert not PurchaseOrder.objects.exists()


def test_the_plan_becomes_one_draft_a_supplier_and_is_then_done(maker, low):
    made = maker.client.post(reverse("make-orders"), {"once": "first"}, follow=True)
    again = maker.client.post(reverse("make-orders"), {"once": "second"}, follow=True)

    assert made.redirect_chain == [(reverse("orders"), 302)]
    assert "2 drafts are made" in words(made)
    assert "Nothing needs buying now" in words(again)
    assert PurchaseOrder.objects.count() == 2


def test_an_order_on_paper(maker, low):
    maker.client.post(reverse("make-orders"))
    order = low.purchase_orders.get(supplier__name="Dry Dock")

    answer = maker.client.get(reverse("order-sheet", args=[order.number]))

    said = paper(answer)
    assert answer["Content-Disposition"] == f'inline; filename="order-{order.number}.pdf"'
    for expected in (f"Order {order.number}", "Dry Dock", "draft", "White", "Tin", "15.00"):
        assert expected in said


def test_an_order_below_the_least_is_not_sent(maker, low):
    low.suppliers.update(minimum_order=D(50))
    PackFactory(studio=low, supplier=low.suppliers.get(name="Dry Dock"), price=D(3))
    order = PurchaseOrder.objects.create(
        studio=low, supplier=low.suppliers.get(name="Dry Dock"), number=7
    )

    empty = maker.client.post(reverse("order-send", args=[7]), follow=True)
    pack = order.supplier.packs.get(price=D(3))
    maker.client.post(reverse("order-line-new", args=[7]), {"pack": pack.pk, "count": 2})
    small = maker.client.post(reverse("order-send", args=[7]), follow=True)

    assert "has no lines" in words(empty)
    assert "below the least order that Dry Dock takes" in words(small)
    assert "Add a pack" in words(small)


def test_only_the_suppliers_own_packs_are_offered(maker, low):
    order = PurchaseOrder.objects.create(
        studio=low, supplier=low.suppliers.get(name="Dry Dock"), number=7
    )
    blue = low.packs.get(material__name="Blue")
    here = reverse("order-line-new", args=[order.number])

    assert "White, Tin" in words(maker.client.get(here))
    assert "Blue, Tin" not in words(maker.client.get(here))
    assert maker.client.post(here, {"pack": blue.pk, "count": 1}).status_code == 422


def test_shipping_that_was_expected_is_filled_in_once(maker, low):
    maker.client.post(reverse("make-orders"))
    order = low.purchase_orders.get(supplier__name="Dry Dock")
    line = order.lines.get()
    line.count = 2
    line.save()
    here = reverse("order-receive", args=[order.number])

    assert 'name="freight" value="5.00"' in maker.client.get(here).content.decode()
    maker.client.post(here, {f"count_{line.pk}": 1, "received_on": str(low.today())})
    assert 'value="5.00"' not in maker.client.get(here).content.decode()


def test_a_budget_for_a_part_says_what_is_left_out_everywhere(maker, low):
    """Blue takes 4 and 5 of shipping, White 10 and 5: 24 in all."""
    page = words(maker.client.get(reverse("reorder"), {"budget": "15"}))
    assert "does not cover everything" in page
    assert re.search(r"Everything takes \S*24\.00; \S*24\.00 covers Blue as well", page)
    sheet = paper(maker.client.get(reverse("reorder-sheet"), {"budget": "15"}))
    assert "this leaves out" in sheet

    data = maker.api.get("/api/v1/reorder-plan/", {"budget": "15"}).data
    assert (data["left_out"]["all_total"], data["left_out"]["proven"]) == ("24.000", True)
    (need,) = data["left_out"]["needs"]
    assert need["material"]["name"] == "Blue"

    maker.client.post(reverse("make-orders"), {"budget": "15"})
    assert PurchaseOrder.objects.count() == 1
