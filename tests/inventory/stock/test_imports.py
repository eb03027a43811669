"""Files brought in: every row's fate before anything changes, all or nothing, safe to repeat."""

from decimal import Decimal as D

import pytest

from inventory.models import Entry, Movement
from inventory.stock import books, imports
from inventory.stock import ledger as stock
from inventory.stock.imports import SHEETS, Fate, ImportRefused
from studio.tables import TableError, csv_bytes, read_table
from tests.factories.inventory import MaterialFactory, PackFactory, SupplierFactory
from tests.factories.studio import StudioFactory

pytestmark = pytest.mark.django_db

MATERIALS = """\
Name,Kind,Counted in,Density (g/mL),Is stocked,Reorder point
Cobalt teal,Paint,mL,1.21,yes,250
Wide tile,"Tile, canvas or panel",each,,,
Tap water,water,ml,1,no,
"""


@pytest.fixture
def shelf(studio):
    """A studio with a white paint and a tile, and a bottle of the paint on the shelf."""
    white = MaterialFactory(studio=studio, name="White", density_g_per_ml=D("1.25"), tare_g=D(20))
    tile = MaterialFactory(studio=studio, name="Tile", kind="surface", unit="each")
    SupplierFactory(studio=studio, name="Harbour Colours")
    receipt = stock.Receipt(material=white, quantity=D(400), value=D(8), code="W1")
    stock.receive(studio=studio, by=None, receipts=[receipt])
    return {"white": white, "tile": tile}


def body_of(text):
    return text.encode() if isinstance(text, str) else text


def shown(studio, kind, text):
    return imports.preview(studio=studio, sheet=SHEETS[kind], body=body_of(text))


def brought(studio, kind, text, **more):
    return imports.bring_in(studio=studio, by=None, sheet=SHEETS[kind], body=body_of(text), **more)


def fates(plan):
    return [row.fate.value for row in plan.rows]


def faults(plan):
    return [(row.line, fault.heading, fault.sentence) for row in plan.rows for fault in row.faults]


# Materials and suppliers


def test_a_preview_changes_nothing(studio):
    plan = shown(studio, "materials", MATERIALS)

    assert fates(plan) == ["new"] * 3
    assert not studio.materials.exists()


def test_materials_come_in_as_written(studio):
    brought(studio, "materials", MATERIALS)

    found = studio.materials.order_by("name").values_list(
        "name", "kind", "unit", "density_g_per_ml", "is_stocked", "reorder_point"
    )
    assert list(found) == [
        ("Cobalt teal", "paint", "ml", D("1.21"), True, D(250)),
        ("Tap water", "water", "ml", D(1), False, None),
        ("Wide tile", "surface", "each", None, True, None),
    ]


def test_the_same_file_twice_changes_nothing(studio):
    brought(studio, "materials", MATERIALS)
    before = list(studio.materials.values())

    plan = brought(studio, "materials", MATERIALS)

    assert fates(plan) == ["same"] * 3
    assert list(studio.materials.values()) == before


def test_a_change_says_before_and_after_and_leaves_the_rest(studio):
    brought(studio, "materials", MATERIALS)

    plan = brought(studio, "materials", "name,density_g_per_ml,notes\ncobalt  TEAL,1.3,\n")

    (row,) = plan.rows
    assert (row.fate, [tuple(vars(one).values()) for one in row.changes]) == (
        Fate.CHANGED,
        [("Density (g/mL)", "1.21", "1.3")],
    )
    found = studio.materials.get(density_g_per_ml=D("1.3"))
    assert (found.kind, found.reorder_point) == ("paint", D(250))


def test_an_empty_cell_leaves_what_is_there(studio):
    brought(studio, "materials", MATERIALS)

    plan = brought(studio, "materials", "Name,Kind,Reorder point\nCobalt teal,paint,\n")

    assert fates(plan) == ["same"]
    assert studio.materials.get(name="Cobalt teal").reorder_point == D(250)


@pytest.mark.parametrize("number", ["1e9", "NaN", "Infinity", "1,5", "-1", "twelve", "9" * 50])
def test_a_number_that_is_none_is_the_fault_of_its_cell(studio, number):
    plan = shown(studio, "materials", f'Name,Kind,Density (g/mL)\nWhite,paint,"{number}"\n')

    ((line, heading, sentence),) = faults(plan)
    assert (line, heading) == (2, "Density (g/mL)")
    assert sentence


def test_every_fault_is_named_by_row_and_column(studio):
    MaterialFactory(studio=studio, name="Gone", archived_at="2026-01-01T00:00Z")
    text = "Name,Kind,Counted in,Is stocked\nA,stone,ml,\n,paint,ml,\nB,paint,ml,perhaps\n"

    plan = shown(studio, "materials", text + "Gone,paint,,\nC,paint,,\nc,paint,,\n")

    assert [(line, heading) for line, heading, _ in faults(plan)] == [
        (2, "Kind"),
        (3, "Name"),
        (4, "Is stocked"),
        (5, "Name"),
        (7, ""),
    ]
    assert "Line 6 is about" in faults(plan)[-1][2]
    assert plan.counts == {"new": 1, "changed": 0, "same": 0, "wrong": 5}


def test_one_wrong_row_keeps_all_out(studio):
    with pytest.raises(ImportRefused, match=r"1 of 4 rows are wrong.*line 5, Kind"):
        brought(studio, "materials", MATERIALS + "Odd,stone,ml,,,\n")

    assert not studio.materials.exists()


def test_a_unit_that_bottles_are_counted_in_does_not_change(studio, shelf):
    plan = shown(studio, "materials", "Name,Kind,Counted in\nWhite,paint,g\n")

    ((line, heading, sentence),) = faults(plan)
    assert (line, heading) == (2, "Counted in")
    assert "already counted" in sentence


def test_a_file_without_the_needed_column_is_refused(studio):
    with pytest.raises(TableError, match="There is no column “Name”"):
        shown(studio, "materials", "Title,Kind\nA,paint\n")


def test_columns_that_are_not_read_are_named(studio):
    plan = shown(studio, "suppliers", "Name,Fax\nHarbour Colours,1\n")

    assert plan.notices == ("Not read, since there is no such column here: “Fax”.",)


def test_formulas_come_in_as_the_text_they_were(studio):
    name = "=cmd|' /C calc'!A0"
    body = csv_bytes(["Name", "Kind"], [[name, "paint"]])
    assert name.encode() in body and b"'=cmd" in body

    brought(studio, "materials", body)

    assert studio.materials.get().name == name


def test_decimal_commas_are_read_between_semicolons(studio):
    brought(studio, "suppliers", "Name;Shipping fee;Lead days\nHarbour Colours;4,50;2,5\n")

    found = studio.suppliers.get()
    assert (found.shipping_fee, found.lead_days) == (D("4.50"), D("2.5"))


def test_what_changed_since_it_was_shown_is_shown_again(studio):
    digest = shown(studio, "materials", MATERIALS).digest
    MaterialFactory(studio=studio, name="Cobalt teal", kind="medium")

    with pytest.raises(ImportRefused, match="has changed since") as refused:
        brought(studio, "materials", MATERIALS, digest=digest)

    assert fates(refused.value.preview) == ["changed", "new", "new"]
    assert studio.materials.count() == 1


def test_another_studios_rows_are_not_met(studio, shelf):
    other = StudioFactory()

    plan = shown(other, "packs", "Supplier,Material,Size,Price\nHarbour Colours,White,473,9\n")

    assert [heading for _, heading, _ in faults(plan)] == ["Supplier", "Material"]
    assert "There is no bottle" in faults(shown(other, "counts", "Bottle,Left\nW1,3\n"))[0][2]


# Packs

PACKS = """\
Supplier,Material,Label,Size,Price,Supplier code,Is on offer
Harbour Colours,White,473 mL bottle,16 fl oz,$9.40,HC-1,yes
Harbour Colours,Tile,,12,6,,no
"""


def test_a_price_list_comes_in_and_again_with_new_prices(studio, shelf):
    brought(studio, "packs", PACKS)
    assert fates(brought(studio, "packs", PACKS)) == ["same", "same"]

    plan = brought(studio, "packs", PACKS.replace("$9.40", "9.9"))

    assert fates(plan) == ["changed", "same"]
    found = studio.packs.order_by("size").values_list("size", "price", "is_on_offer")
    assert list(found) == [(D(12), D(6), False), (D("473.1765"), D("9.9"), True)]


def test_packs_name_suppliers_and_materials_that_are_there(studio, shelf):
    plan = shown(studio, "packs", "Supplier,Material,Size,Price\nNobody,Nothing,1,1\n")

    assert [heading for _, heading, _ in faults(plan)] == ["Supplier", "Material"]


# Opening stock

OPENING = """\
Bottle,Material,Quantity,Worth,Holds when full,Place,Received on,Opened on,Expires on
A-1,White,250 mL,5.123456,500 mL,Top shelf,2026-01-05,2026-02-01,2027-01-05
A-2,White,100,2,,,,,
A-3,Tile,12,6,,,2026-01-05,,
"""


@pytest.mark.parametrize("costing", ("fifo", "moving_average"))
def test_opening_stock_comes_in_once(costing):
    studio = StudioFactory(costing=costing)
    MaterialFactory(studio=studio, name="White")
    MaterialFactory(studio=studio, name="Tile", kind="surface", unit="each")

    brought(studio, "opening-stock", OPENING, file_name="shelf.csv")
    again = brought(studio, "opening-stock", OPENING)

    assert fates(again) == ["same"] * 3
    white = studio.materials.get(name="White")
    assert (white.on_hand, white.value) == (D(350), D("7.123456"))
    bottle = studio.bottles.get(code="A-1")
    assert (bottle.capacity, bottle.place, str(bottle.opened_on)) == (
        D(500),
        "Top shelf",
        "2026-02-01",
    )
    assert set(studio.movements.exclude(kind="respread").values_list("kind", flat=True)) == {
        "opening"
    }
    assert {entry.why for entry in Entry.objects.all()} == {"From shelf.csv"}
    assert books.check(studio) == []


def test_opening_stock_used_since_is_still_the_same(studio, shelf):
    brought(studio, "opening-stock", OPENING)
    stock.use(studio=studio, by=None, amounts={shelf["white"]: D(600)})

    assert fates(shown(studio, "opening-stock", OPENING)) == ["same"] * 3


@pytest.mark.parametrize(
    ("row", "heading"),
    [
        ("W1,White,5 mL,1,,,,,", "Bottle"),  # there already, with something else in it
        ("much-too-long-a-code,White,5,1,,,,,", "Bottle"),
        ("a b,White,5,1,,,,,", "Bottle"),
        (",White,5,1,,,,,", "Bottle"),
        ("B1,Nothing,5,1,,,,,", "Material"),
        ("B1,White,,1,,,,,", "Quantity"),
        ("B1,White,1e9,1,,,,,", "Quantity"),
        ("B1,White,NaN,1,,,,,", "Quantity"),
        ("B1,White,-5,1,,,,,", "Quantity"),
        ("B1,Tile,1.5,1,,,,,", "Quantity"),
        ("B1,White,5,,,,,,", "Worth"),
        ("B1,White,5,-1,,,,,", "Worth"),
        ("B1,White,5,1e9,,,,,", "Worth"),
        ("B1,White,5,1,,,05/06/2026,,", "Received on"),
        ("B1,White,5,1,,,2999-01-01,,", "Received on"),
        ("B1,White,5,1,,,2026-02-01,2026-01-01,", "Opened on"),
    ],
)
def test_a_bottle_that_cannot_be_is_refused_by_its_cell(studio, shelf, row, heading):
    plan = shown(studio, "opening-stock", OPENING.splitlines()[0] + f"\n{row}\n")

    assert [(line, found) for line, found, _ in faults(plan)] == [(2, heading)]


def test_one_wrong_bottle_keeps_all_off_the_shelf(studio, shelf):
    before = Movement.objects.count()

    with pytest.raises(ImportRefused):
        brought(studio, "opening-stock", OPENING + "A-2,White,5,1,,,,,\n")

    assert Movement.objects.count() == before


# Counts


def test_counts_set_what_is_left_once(studio, shelf):
    brought(studio, "opening-stock", OPENING)
    # (145 g - 20 g) / 1.25 g/mL = 100 mL, which is what is in it already
    text = "Bottle,Material,Left,Weight (g)\nw1,White,350 mL,\nA-3,Tile,0,\nA-2,,,145\nA-1,,,\n"

    plan = brought(studio, "counts", text, file_name="count.csv")

    assert fates(plan) == ["changed", "changed", "same", "same"]
    assert plan.rows[0].changes[0].before == "400 mL"
    left = dict(studio.bottles.values_list("code", "remaining"))
    assert left == {"W1": D(350), "A-1": D(250), "A-2": D(100), "A-3": D(0)}
    assert books.check(studio) == []
    entries = Entry.objects.count()

    assert fates(brought(studio, "counts", text)) == ["same"] * 4
    assert Entry.objects.count() == entries


@pytest.mark.parametrize(
    ("row", "heading"),
    [
        ("X9,,1,", "Bottle"),
        (",,1,", "Bottle"),
        ("W1,Tile,1,", "Material"),
        ("W1,,1,30", "Weight (g)"),
        ("W1,,NaN,", "Left"),
        ("W1,,-1,", "Left"),
        ("W1,,1e9,", "Left"),
        ("W1,,,5", "Weight (g)"),  # less than the empty bottle
        ("W1,,,heavy", "Weight (g)"),
    ],
)
def test_a_count_that_cannot_be_is_refused_by_its_cell(studio, shelf, row, heading):
    plan = shown(studio, "counts", f"Bottle,Material,Left,Weight (g)\n{row}\n")

    assert [(line, found) for line, found, _ in faults(plan)] == [(2, heading)]


# Templates


@pytest.mark.parametrize("extension", ("csv", "xlsx"))
@pytest.mark.parametrize("kind", list(SHEETS))
def test_a_template_has_every_heading(studio, shelf, kind, extension):
    sheet = SHEETS[kind]
    body = imports.template(studio=studio, sheet=sheet, extension=extension)

    if kind == "counts":
        table = read_table(body)
        assert [row.cells["bottle"] for row in table.rows] == ["W1"]
        assert fates(shown(studio, kind, body)) == ["same"]
        assert list(table.headings) == [column.heading for column in sheet.columns]
    else:
        with pytest.raises(TableError, match="no rows below them"):
            read_table(body)


@pytest.mark.parametrize("extension", ("csv", "xlsx"))
@pytest.mark.parametrize("kind", ("materials", "suppliers", "packs"))
def test_a_list_taken_out_comes_in_as_the_same(studio, shelf, kind, extension):
    from inventory.stock.exports import LISTS

    PackFactory(studio=studio, supplier=studio.suppliers.get(), material=shelf["white"])
    (listing,) = (one for one in LISTS if one.name == kind)

    plan = shown(studio, kind, listing.file(studio, extension))

    assert set(fates(plan)) == {"same"}, faults(plan)


def test_text_and_days_of_a_file_meet_the_rule_of_every_door(studio):
    sent = 'Na\x07me,Kind,Notes\nCafe\u0301\x0b \ufffe\u202eblue,paint,"one\r\ntwo\x1b"\n'
    brought(studio, "materials", sent)

    row = studio.materials.get()
    assert (row.name, row.notes) == ("Café blue", "one\ntwo")


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_a_day_outside_the_years_taken_is_a_fault_of_its_row(shelf, studio, day):
    sent = f"Bottle,Material,Quantity,Worth,Received on\nB1,White,5,1,{day}\n"

    plan = shown(studio, "opening-stock", sent)

    assert (2, "Received on", "Give a date from 1950 to 2100.") in faults(plan)
