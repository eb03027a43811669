"""What a material has cost: the same numbers as a chart, a table, a file and through the API."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from inventory.buying import purchasing
from inventory.models import Movement
from inventory.stock import ledger as stock
from inventory.supplies.price_history import price_chart, price_history
from tests.factories.inventory import MaterialFactory, PackFactory, SupplierFactory
from tests.inventory.pages import words
from tests.inventory.stock.shelves import D

ZERO = D(0)


@pytest.fixture
def white(studio):
    """Two bottles of 250 at 10.00 with 5.00 of freight, later one of 500 at 18.00."""
    white = MaterialFactory(studio=studio, name="White")
    today = studio.today()
    for name, size, price, bottles, freight, days in (
        ("Dry Dock", 250, 10, 2, 5, 40),
        ("Kettle Lane", 500, 18, 1, 0, 10),
    ):
        supplier = SupplierFactory(studio=studio, name=name)
        pack = PackFactory(studio=studio, supplier=supplier, material=white, size=D(size))
        received(white, pack, price, bottles, D(freight), today - timedelta(days=days))
    return white


def received(material, pack, price, bottles=1, freight=ZERO, day=None, **more):
    receipts = [stock.Receipt(material, pack.size, D(price), pack=pack)] * bottles
    return purchasing.receive_delivery(
        studio=material.studio,
        by=None,
        supplier=pack.supplier,
        receipts=receipts,
        freight=freight,
        received_on=day,
        **more,
    )


@pytest.mark.parametrize("sign", "\x01\x07\x0b\x1b\ufffe\uffff")
def test_a_sign_that_no_page_can_hold_stops_no_chart(maker, white, studio, sign):
    # As a row of an older database may still have it.
    studio.suppliers.filter(name="Dry Dock").update(name=f"Dry{sign}Dock")

    response = maker.client.get(reverse("material", args=[white.pk]))

    assert response.status_code == 200
    (chart,) = re.findall(r"<svg[^>]*role=\"img\".*?</svg>", response.content.decode(), re.S)[-1:]
    assert sign not in chart and "Kettle Lane" in chart


def test_each_delivery_tells_its_price_and_what_it_came_to(white):
    # 10.00 for 250 mL is 0.04; 25.00 for 500 mL is 0.05; 18.00 for 500 mL is 0.036.
    assert [
        (paid.supplier, paid.bottles, paid.price, paid.unit_price, paid.unit_landed)
        for paid in price_history(white)
    ] == [
        ("Dry Dock", 2, D(10), D("0.04"), D("0.05")),
        ("Kettle Lane", 1, D(18), D("0.036"), D("0.036")),
    ]


def test_what_was_undone_used_or_there_before_changes_no_history(white, studio):
    before = price_history(white)
    pack = white.packs.first()
    undone = received(white, pack, 99)
    stock.reverse(studio=studio, by=None, entry=undone.entry)
    received(white, pack, 77, kind=Movement.Kind.OPENING)
    stock.use(studio=studio, by=None, amounts={white: D(300)})

    assert price_history(white) == before


def test_the_chart_has_its_numbers_as_rows_and_a_name_for_each_supplier(white, studio):
    chart = price_chart(studio, white, price_history(white))

    assert [row[1:] for row in chart.rows] == [
        ("Dry Dock", "250 mL", 2, "$10.00", "$0.0400", "$0.0500"),
        ("Kettle Lane", "500 mL", 1, "$18.00", "$0.0360", "$0.0360"),
    ]
    assert "Dry Dock" in chart.svg and "Kettle Lane" in chart.svg
    assert price_chart(studio, MaterialFactory(studio=studio), []) is None


def test_page_file_and_api_say_the_same(maker, white):
    page = words(maker.client.get(reverse("material", args=[white.pk])))
    assert "What it has cost" in page and "$0.0500" in page
    said = maker.client.get(reverse("material-prices", args=[white.pk, "csv"]))
    assert said["Content-Disposition"].endswith(f'"prices-{white.pk}.csv"')
    lines = said.content.decode("utf-8-sig").splitlines()
    assert lines[1].endswith("Dry Dock,250 mL,2,10,0.04,0.05")
    rows = maker.api.get(f"/api/v1/materials/{white.pk}/prices/").data["results"]
    assert [row["unit_landed"] for row in rows] == ["0.050000", "0.036000"]


@pytest.mark.parametrize("more", (0, 2))
def test_the_api_asks_the_same(maker, white, django_assert_num_queries, more):
    for _ in range(more):
        received(white, white.packs.first(), 11)

    with django_assert_num_queries(5):  # token, person, membership; the material, its history
        rows = maker.api.get(f"/api/v1/materials/{white.pk}/prices/").data["results"]
    assert len(rows) == 2 + more
