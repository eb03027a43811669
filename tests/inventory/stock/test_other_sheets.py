"""Sheets that other people laid out: what is found in them, and what stands in the books after."""

from decimal import Decimal as D

import pytest

from inventory.stock import books
from inventory.stock import ledger as stock
from inventory.stock.imports import own
from inventory.stock.sheets import Told
from studio.tables import TableError, read_grid, xlsx_bytes
from tests.factories.inventory import MaterialFactory, PackFactory, SupplierFactory
from tests.factories.studio import StudioFactory
from tests.inventory.stock.other_sheets import ALL, SHEETS
from tests.inventory.stock.sheets.five_hundred import sheet as five_hundred

pytestmark = pytest.mark.django_db

EXACT = D("0.001")  # each bottle is kept to a ten-thousandth
each_sheet = pytest.mark.parametrize("sheet", ALL, ids=lambda sheet: sheet.file)


def studio_of(sheet):
    """Return a studio where the sheet could be from; those of the one money cost by the average."""
    costing = "moving_average" if sheet.currency == "EUR" else "fifo"
    measures = "metric" if sheet.currency in ("GBP", "EUR") else "us"
    return StudioFactory(currency=sheet.currency, measures=measures, costing=costing)


def looked_at(studio, body, **answers):
    return own.look(studio=studio, body=body, told=Told(answers=answers))


def brought(studio, body, **answers):
    ready = looked_at(studio, body, **answers)
    return own.bring_in_good(studio=studio, by=None, ready=ready, file_name="sheet.csv")


def outcome(one):
    """Return how a row was judged; one that says what another row said already is good too."""
    return "good" if one.outcome == "same" else one.outcome


def amount(quantity, unit):
    return (quantity, unit) if quantity else None


def amount_of(text):
    return (D(text.split()[0]), text.split()[1]) if text else None


def is_near(found, wanted):
    if found is None or wanted is None:
        return found is wanted
    return found[1] == wanted[1] and abs(found[0] - wanted[0]) < EXACT


def differences(row, wanted):
    """Yield what a reader found otherwise than a person would."""
    found = {
        "name": row.name.casefold(),
        "kind": row.kind,
        "supplier": row.supplier,
        "place": row.place,
        "received": str(row.received or ""),
        "expires": str(row.expires or ""),
    }
    for key, value in found.items():
        if value != (wanted[key].casefold() if key == "name" else wanted[key]):
            yield row.number, key, value
    if wanted["outcome"] != "good":
        return
    for key, value in (("pack", row.pack_size), ("on_hand", row.on_hand)):
        if not is_near(amount(value, row.unit), amount_of(wanted[key])):
            yield row.number, key, value, row.unit
    if row.price != (D(wanted["price"]) if wanted["price"] else None):
        yield row.number, "price", row.price


@each_sheet
def test_a_sheet_is_understood_as_a_person_would(sheet):
    studio, body = studio_of(sheet), (SHEETS / sheet.file).read_bytes()
    unanswered = looked_at(studio, body)
    assert {one.key for one in unanswered.plan.questions} == set(sheet.asked)

    ready = looked_at(studio, body, **sheet.asked)

    rows = {one.row.number: one for one in ready.plan.rows}
    wanted = {int(row["row"]): row for row in sheet.rows}
    assert {number: outcome(one) for number, one in rows.items()} == {
        number: row["outcome"] for number, row in wanted.items()
    }
    assert [one for number in wanted for one in differences(rows[number].row, wanted[number])] == []
    assert all(one.remarks for one in ready.others)


@each_sheet
def test_the_good_rows_of_a_sheet_stand_in_the_books_once(sheet):
    studio, body = studio_of(sheet), (SHEETS / sheet.file).read_bytes()

    brought(studio, body, **sheet.asked)

    good = [row for row in sheet.rows if row["outcome"] == "good"]
    assert {row.name.casefold() for row in studio.materials.all()} == {
        row["name"].casefold() for row in good
    }
    assert {row.name for row in studio.suppliers.all()} == {
        row["supplier"] for row in good if row["supplier"]
    }
    packs = {
        (pack.supplier.name, pack.material.name.casefold(), round(pack.size, 3), pack.price)
        for pack in studio.packs.select_related("supplier", "material")
    }
    assert packs == {
        (
            row["supplier"],
            row["name"].casefold(),
            round(D(row["pack"].split()[0]), 3),
            D(row["price"]),
        )
        for row in good
        if row["supplier"] and row["pack"]
    }
    for material in studio.materials.all():
        rows = [row for row in good if row["name"].casefold() == material.name.casefold()]
        on_hand = sum((D(row["on_hand"].split()[0]) for row in rows if row["on_hand"]), D(0))
        assert abs(material.on_hand - on_hand) < EXACT, material
        assert material.density_g_per_ml is None
    assert abs(sum(row.value for row in studio.materials.all()) - D(sheet.worth)) < EXACT
    assert books.check(studio) == []

    again = looked_at(studio, body, **sheet.asked)

    assert again.counts["good"] == 0
    assert [one.outcome for one in again.others] == [
        row["outcome"] for row in sheet.rows if row["outcome"] in ("ask", "wrong")
    ]
    with pytest.raises(own.SheetRefused, match="nothing in this sheet"):
        own.bring_in_good(studio=studio, by=None, ready=again)


def test_five_hundred_rows_come_in_with_a_bounded_number_of_queries(django_assert_max_num_queries):
    studio = StudioFactory(currency="USD", measures="us")
    body, truths = five_hundred()
    with django_assert_max_num_queries(12):
        ready = looked_at(studio, body, ounces="volume")
    found = {one.row.number: one for one in ready.plan.rows}
    assert {number: one.outcome for number, one in found.items()} == {
        truth.row: truth.outcome for truth in truths
    }

    # Two for each day on which something came in, and some for the whole.
    days = {truth.bought for truth in truths if truth.outcome == "good" and truth.on_hand_ml}
    with django_assert_max_num_queries(60 + 30 * len(days)):
        own.bring_in_good(studio=studio, by=None, ready=ready)

    good = [truth for truth in truths if truth.outcome == "good"]
    on_hand = {row.name.casefold(): row.on_hand for row in studio.materials.all()}
    assert {name: round(quantity, 2) for name, quantity in on_hand.items()} == {
        truth.name: round(truth.on_hand_ml, 2) for truth in good
    }
    wanted = sum(truth.price * truth.on_hand_ml / truth.size_ml for truth in good)
    assert abs(sum(row.value for row in studio.materials.all()) - wanted) < D("0.01")
    assert books.check(studio) == []


def test_the_others_come_back_and_go_in_once_they_are_mended():
    studio = StudioFactory(currency="USD", measures="us")
    body, truths = five_hundred()
    result = brought(studio, body, ounces="volume")
    others = [truth for truth in truths if truth.outcome != "good"]
    assert result.others == len(others)

    (_, headings), *lines = read_grid(result.to_mend).lines
    assert headings[-2:] == ("To mend", "Row before")
    rows = [cells for _, cells in lines]
    assert {int(cells[-1]) for cells in rows if len(cells) > 1} == {one.row for one in others}
    amounts = headings.index("On hand")
    mended = [
        [*cells[:amounts], "2 bottles", *cells[amounts + 1 :]] if len(cells) > 1 else cells
        for cells in rows
    ]
    again = brought(studio, xlsx_bytes(headings, mended, "Mended"))

    assert (again.rows, again.others) == (len(others), 0)
    on_hand = {row.name.casefold(): row.on_hand for row in studio.materials.all()}
    assert all(abs(on_hand[one.name] - 2 * one.size_ml) < EXACT for one in others)
    assert books.check(studio) == []


# What is there already

LIST = "Item,Shop,Size,Have,Price\nTitanium  WHITE,Harbour Lights,500 ml,2,9.50\n"


def test_a_material_that_is_there_is_matched_and_its_shelf_asked_about():
    studio = StudioFactory(currency="USD", measures="us")
    white = MaterialFactory(studio=studio, name="titanium white")
    shop = SupplierFactory(studio=studio, name="Harbour lights")
    PackFactory(studio=studio, supplier=shop, material=white, size=D(500), price=D(9))
    receipt = stock.Receipt(material=white, quantity=D(100), value=D(2))
    stock.receive(studio=studio, by=None, receipts=[receipt])

    asked = looked_at(studio, LIST.encode())
    assert ([one.key for one in asked.plan.questions], asked.counts["ask"]) == (["shelf"], 1)
    brought(studio, LIST.encode(), shelf="same")
    white.refresh_from_db()
    assert (white.on_hand, studio.packs.get().price) == (D(100), D("9.5"))
    brought(studio, LIST.encode(), shelf="more")

    white.refresh_from_db()
    assert (white.on_hand, white.value) == (D(1100), D(21))
    assert (studio.materials.count(), studio.suppliers.count()) == (1, 1)


def test_what_another_unit_or_an_archived_name_says_is_asked():
    studio = StudioFactory(currency="USD", measures="us")
    MaterialFactory(studio=studio, name="Titanium white", unit="g")
    assert "in g?" in looked_at(studio, LIST.encode()).others[0].remarks[0].sentence
    studio.materials.update(unit="ml", archived_at="2026-01-01T00:00Z")

    assert "was archived" in looked_at(studio, LIST.encode()).others[0].remarks[0].sentence


def test_another_studios_shelf_is_not_met():
    brought(StudioFactory(currency="USD", measures="us"), LIST.encode())

    assert looked_at(StudioFactory(currency="USD", measures="us"), LIST.encode()).counts["good"]


def test_columns_chosen_by_hand_and_answers_are_known_for_the_same_headings():
    studio = StudioFactory(currency="USD", measures="us")
    text = "Foo,Bar,Baz,Qux\nWhite,16 oz,3,$4.00\nBlack,16 oz,?,$5.00\n"
    told = Told({0: "name", 1: "pack", 2: "on_hand", 3: "price"}, None, {"ounces": "weight"})
    ready = own.look(studio=studio, body=text.encode(), told=told)
    own.bring_in_good(studio=studio, by=None, ready=ready, digest=ready.digest)

    next_one = looked_at(studio, text.replace("White", "Red").replace("?", "2").encode())

    assert next_one.is_known
    assert next_one.reading.layout.columns == told.columns
    assert [(one.row.name, one.row.unit) for one in next_one.good] == [("Red", "g"), ("Black", "g")]


def test_what_changed_since_it_was_shown_is_not_brought_in():
    studio = StudioFactory(currency="USD", measures="us")
    ready = looked_at(studio, LIST.encode())
    MaterialFactory(studio=studio, name="Titanium white", unit="g")

    with pytest.raises(own.SheetRefused, match="has changed since"):
        own.bring_in_good(studio=studio, by=None, ready=ready, digest=ready.digest)

    assert not studio.suppliers.exists()


# What is no sheet


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        (b"", "The file is empty"),
        (b"\n,,\n", "The file is empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "This is a picture"),
        (b"," * 10_000_000, "larger than 2 MB"),
        (b"a" + b"," * 100 + b"b", "at most 60 are read"),
        (b"PK\x03\x04 no archive", "cannot be read"),
    ],
)
def test_what_is_no_sheet_is_refused_in_a_sentence(studio, body, sentence):
    with pytest.raises(TableError, match=sentence):
        looked_at(studio, body)


def test_a_formula_without_its_value_is_wrong_where_it_stands(studio):
    body = b"Item,Size,Have,Price\nWhite,500 ml,=1+1,4\n=cmd|' /C calc'!A0,1 l,1,4\n"

    ready = looked_at(studio, body)

    said = [[remark.heading for remark in one.remarks] for one in ready.others]
    assert (ready.counts["wrong"], said) == (2, [["Have"], ["Item"]])
