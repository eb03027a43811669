"""Sheets that other people laid out: what is found in them, and what stands in the books after."""

from decimal import Decimal as D

import pytest

from inventory.stock import books
from inventory.stock.imports import own
from inventory.stock.sheets import Told
from studio.tables import read_grid, xlsx_bytes
from tests.factories.studio import StudioFactory
from tests.inventory.stock.other_sheets import ALL, SHEETS
from tests.inventory.stock.sheets.five_hundred import sheet as five_hundred

pytestmark = pytest.mark.django_db

EXACT = D("0.001")  # each bottle is kept to a ten-thousandth
each_sheet = pytest.mark.parametrize("sheet", ALL, ids=lambda sheet: sheet.file)


def studio_of(sheet):
    measures = "metric" if sheet.currency in ("GBP", "EUR") else "us"
    return StudioFactory(currency=sheet.currency, measures=measures)


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
@pytest.mark.parametrize("costing", ("fifo", "moving_average"))
def test_the_good_rows_of_a_sheet_stand_in_the_books(sheet, costing):
    studio, body = studio_of(sheet), (SHEETS / sheet.file).read_bytes()
    type(studio).objects.filter(pk=studio.pk).update(costing=costing)
    studio.refresh_from_db()

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


@each_sheet
def test_a_sheet_sent_again_changes_nothing(sheet):
    studio, body = studio_of(sheet), (SHEETS / sheet.file).read_bytes()
    brought(studio, body, **sheet.asked)
    before = list(studio.bottles.values()), list(studio.packs.values())

    again = looked_at(studio, body, **sheet.asked)

    assert again.counts["good"] == 0
    assert [one.outcome for one in again.others] == [
        row["outcome"] for row in sheet.rows if row["outcome"] in ("ask", "wrong")
    ]
    with pytest.raises(own.SheetRefused, match="nothing in this sheet"):
        own.bring_in_good(studio=studio, by=None, ready=again)
    assert (list(studio.bottles.values()), list(studio.packs.values())) == before


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
