"""The reorder sheet on paper: what it says, for one supplier and for all."""

from datetime import timedelta
from decimal import Decimal
from io import BytesIO

import pytest
from pypdf import PdfReader

from inventory.buying import papers, purchasing
from inventory.stock import holds
from inventory.stock import ledger as stock
from tests.factories.inventory import MaterialFactory, PackFactory, SupplierFactory, WorkFactory

D = Decimal
pytestmark = pytest.mark.django_db


@pytest.fixture
def stocked(studio):
    """Two suppliers, each with one material that is low; the first was bought from before."""
    for name, material, price in (
        ("Dry Dock Paints", "White", "9.50"),
        ("Kettle Lane", "Blue", "4"),
    ):
        supplier = SupplierFactory(studio=studio, name=name, shipping_fee=D(5))
        made = MaterialFactory(studio=studio, name=material, reorder_point=D(100))
        PackFactory(
            studio=studio, supplier=supplier, material=made, price=D(price), label="500 mL bottle"
        )
    return studio


def text(pdf):
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())


def test_the_combined_sheet_has_every_supplier_and_the_total(stocked):
    white = stocked.materials.get(name="White")
    pack = white.packs.get()
    purchasing.receive_delivery(
        studio=stocked,
        by=None,
        supplier=pack.supplier,
        receipts=[stock.Receipt(white, D(500), D("9.25"), pack=pack)],
    )
    day = stocked.today() + timedelta(days=20)
    holds.hold(
        work=WorkFactory(studio=stocked), label="Commission 1", needs={white: D(600)}, needed_by=day
    )

    said = text(papers.reorder_sheet(stocked, purchasing.plan(studio=stocked)))

    assert "Reorder sheet" in said
    assert "All suppliers together" in said
    for words in ("Dry Dock Paints", "Kettle Lane", "White", "Blue", "500 mL bottle"):
        assert words in said
    assert "$9.25" in said  # last paid, and learned as the price
    assert f"{day:%b} {day.year}" in said
    assert "Commission 1" in said
    assert "$23.25" in said  # 9.25 + 4 + 2 x 5


def test_the_sheet_of_one_supplier_has_no_other(stocked):
    one = stocked.suppliers.get(name="Kettle Lane")

    said = text(
        papers.reorder_sheet(stocked, purchasing.plan(studio=stocked), supplier=str(one.pk))
    )

    assert "Blue" in said
    assert "Dry Dock Paints" not in said
    assert "All suppliers" not in said


def test_an_empty_plan_says_so(studio):
    said = text(papers.reorder_sheet(studio, purchasing.plan(studio=studio)))

    assert "Nothing needs buying" in said


def test_what_the_plan_cannot_do_is_on_the_sheet(stocked):
    MaterialFactory(studio=stocked, name="Gold", reorder_point=D(5))

    said = text(papers.reorder_sheet(stocked, purchasing.plan(studio=stocked)))

    assert "No supplier offers Gold" in said


def test_an_order_on_paper_has_its_lines_and_total(stocked):
    plan = purchasing.plan(studio=stocked)
    order, _ = purchasing.make_orders(studio=stocked, by=None, plan=plan)

    said = text(papers.order_sheet(order))

    assert f"Order {order.number}" in said
    assert order.supplier.name in said
    assert "draft" in said
    assert "$14.50" in said  # 9.50 + 5


def test_the_same_plan_is_the_same_bytes(stocked):
    plan = purchasing.plan(studio=stocked)

    assert papers.reorder_sheet(stocked, plan) == papers.reorder_sheet(stocked, plan)


def test_a_suppliers_total_stands_with_the_last_of_its_lines(stocked):
    """Wherever the page ends: an order that grows line by line, until its total has moved over."""
    plan = purchasing.plan(studio=stocked)
    order, _ = purchasing.make_orders(studio=stocked, by=None, plan=plan)
    pages = []

    for number in range(16):
        made = MaterialFactory(studio=stocked, name=f"Colour {number}")
        pack = PackFactory(studio=stocked, supplier=order.supplier, material=made, price=D(3))
        purchasing.add_line(order=order, pack=pack, count=1)
        if number < 7:  # far from the end of the page yet
            continue
        pdf = PdfReader(BytesIO(papers.order_sheet(order)))
        pages.append([page.extract_text() for page in pdf.pages])

    assert {len(one) for one in pages} == {1, 2}  # the break was passed
    assert [one for one in pages if "Colour" not in one[-1] or "Goods" not in one[-1]] == []
