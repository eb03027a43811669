"""The table of materials: many rows added, changed and counted in one act, or none of them."""

import pytest
from django.core.management import call_command

from inventory.models import Entry, Material, Pack
from inventory.stock.table import RowSent, TableRefused, pasted, save_table, shown_rows
from studio.models import Studio
from tests.factories.inventory import MaterialFactory, OrderLineFactory, PackFactory
from tests.inventory.stock.shelves import D, receive, shelf

# As copied out of a spreadsheet, with a quoted cell and Windows line ends.
BLOCK = (
    "Material\tKind\tCounted in\tSupplier\tPack holds\tPrice of a pack\tOn hand\r\n"
    "Titanium white\tPaint\t\tTarn Paints\t32 fl oz\t$18.50\t1.5 gal\r\n"
    'Panel, "8 × 8"\tpanel\teach\tQuarry Boards\t1\t7.40\t20\r\n'
    "Gold mica\tadditive\tg\tTarn Paints\t50 g\t4\t\r\n"
)


def save(studio, *rows):
    return save_table(studio=studio, by=None, rows=rows)


def cells_of(studio, material):
    return shown_rows(studio, [Material.objects.get(pk=material.pk)])[0].cells


def row_of(studio, material, **cells):
    """Return a row as the page sends it: all cells as shown, some typed over."""
    was = cells_of(studio, material)
    return RowSent({**was, **cells}, material.pk, was)


def test_a_pasted_block_becomes_materials_packs_suppliers_and_opening_stock(studio):
    studio.measures = "us"
    studio.save()

    saved = save(studio, *map(RowSent, pasted(BLOCK)))

    assert (saved.added, saved.packs, saved.suppliers, saved.put_in) == (3, 3, 2, 2)
    white, panel, mica = (
        studio.materials.get(name=name)
        for name in ("Titanium white", 'Panel, "8 × 8"', "Gold mica")
    )
    assert (white.unit, panel.unit, mica.unit) == ("ml", "each", "g")
    # 32 US fl oz are 946.3529 mL and 1.5 gal 5,678.1177 mL (NIST Handbook 44, app. C): six packs.
    assert white.packs.get().size == D("946.3529")
    assert [bottle.remaining for bottle in white.bottles.order_by("pk")] == [
        *[D("946.3529")] * 5,
        D("946.3532"),  # with what the rounding of a pack to four places leaves of 192 fl oz
    ]
    assert shelf(panel) == (D(20), D(148))  # 20 × 7.40, and as one row
    assert panel.bottles.count() == 1
    assert set(studio.entries.values_list("movements__kind", flat=True)) == {"opening"}
    call_command("check_books")


def test_each_wrong_cell_is_named_and_nothing_is_written(studio):
    there = MaterialFactory(studio=studio, name="Blue")

    with pytest.raises(TableRefused) as refused:
        save(
            studio,
            RowSent({"name": "Fine", "kind": "paint", "unit": "ml"}),
            RowSent({"name": "Red", "kind": "crayon", "size": "2 cubits", "price": "-1"}),
            row_of(studio, there, on_hand="lots"),
            RowSent({}),
            RowSent({"name": "fine", "kind": "paint", "unit": "ml"}),
        )

    assert {name: len(said) for name, said in refused.value.fields.items()} == {
        "rows.1.kind": 1,
        "rows.1.unit": 1,
        "rows.2.on_hand": 1,
        "rows.4.name": 1,
    }
    assert list(studio.materials.values_list("name", flat=True)) == ["Blue"]


def test_a_changed_price_is_kept_on_the_pack_and_another_size_is_another_pack(studio):
    pack = PackFactory(studio=studio, size=D(500), price=D(10))
    material = pack.material

    save(studio, row_of(studio, material, price="12.5"))
    assert material.packs.get().price == D("12.5")
    save(studio, row_of(studio, material, size="600 mL"))
    assert material.packs.get().size == 600  # nothing rests on it: a correction
    OrderLineFactory(order__studio=studio, order__supplier=pack.supplier, pack=pack)
    save(studio, row_of(studio, material, size="1 L"))

    assert sorted(material.packs.values_list("size", flat=True)) == [600, 1000]


def test_another_amount_of_the_one_bottle_is_a_count_and_of_several_is_refused(studio):
    one, several = MaterialFactory(studio=studio), MaterialFactory(studio=studio)
    receive(one, (100, 10))
    receive(several, (100, 10), (100, 10))

    assert save(studio, row_of(studio, one, on_hand="80")).counted == 1
    with pytest.raises(TableRefused) as refused:
        save(studio, row_of(studio, several, on_hand="150"))

    assert shelf(one) == (D(80), D(8))
    assert Entry.objects.latest("pk").movements.get().kind == "weigh_in"
    assert refused.value.fields == {
        "rows.0.on_hand": ["It is in 2 bottles: count each bottle on its own page."]
    }
    call_command("check_books")


def test_a_row_that_somebody_changed_meanwhile_is_refused_and_the_others_are_not_touched(studio):
    pack = PackFactory(studio=studio, price=D(10))
    other = PackFactory(studio=studio, supplier=pack.supplier, price=D(5))
    mine = [row_of(studio, pack.material, price="11"), row_of(studio, other.material, name="Ours")]
    untouched = row_of(studio, other.material)
    Pack.objects.filter(pk=pack.pk).update(price=D(12))
    Pack.objects.filter(pk=other.pk).update(price=D(6))

    with pytest.raises(TableRefused) as refused:
        save(studio, *mine)
    assert list(refused.value.faults) == [0]
    assert "Price of a pack 12.00" in refused.value.faults[0]["price"]

    assert save(studio, untouched).packs == 0
    save(studio, mine[1])  # its name is another matter than its price
    other.refresh_from_db()
    assert (other.material.name, other.price) == ("Ours", 6)


@pytest.mark.parametrize("rows", (1, 3))
def test_rows_without_a_change_cost_nothing_more_and_a_new_price_three_queries(
    studio, rows, django_assert_num_queries
):
    packs = PackFactory.create_batch(rows, studio=studio)
    studio = Studio.objects.get(pk=studio.pk)
    still = [row_of(studio, pack.material) for pack in packs]
    dearer = [row_of(studio, pack.material, price="20") for pack in packs]

    with django_assert_num_queries(2 + 2):  # its own savepoint; names, suppliers
        save(studio, *still)
    # Besides, the materials locked, packs and bottles; of each pack its row within a savepoint.
    with django_assert_num_queries(2 + 2 + 3 + 3 * rows):
        save(studio, *dearer)


def test_what_stands_under_other_headings_is_not_read_and_their_order_is_free():
    text = "Price\tNote\tMaterial\n4.50\tnice\tBlue\n"

    assert pasted(text) == [{"price": "4.50", "name": "Blue"}]
    assert pasted("Blue\tpaint\n\nRed") == [{"name": "Blue", "kind": "paint"}, {"name": "Red"}]


def test_a_program_saves_rows_and_is_told_the_cell_at_fault(maker, studio):
    row = {"name": "Blue", "kind": "paint", "supplier": "Tarn", "size": "500 mL", "price": "9"}

    refused = maker.api.post("/api/v1/stock-table/", {"rows": [row | {"price": "nine"}]})
    saved = maker.api.post("/api/v1/stock-table/", {"rows": [row | {"on_hand": "1.25 L"}]})

    assert (refused.status_code, list(refused.data["fields"])) == (409, ["rows.0.price"])
    assert (saved.data["added"], saved.data["packs"], saved.data["put_in"]) == (1, 1, 1)
    assert [bottle.remaining for bottle in studio.bottles.order_by("pk")] == [500, 500, 250]


def test_without_a_script_pasted_rows_are_shown_first_and_saved_with_the_table(maker, studio):
    there = MaterialFactory(studio=studio, name="Old blue")
    text = "Old blue\tpaint\tmL\tTarn\t500 mL\t9\nRed\tpaint\tmL\tTarn\t250 mL\t5\t\n"
    address = "/stock/table/"
    first = maker.client.get(address).context["form"]
    sent = {cell.field: cell.text for row in first.rows for cell in row.cells}
    sent |= {"rows-0-material": there.pk, "rows-0-was": first.rows[0].was}

    shown = maker.client.post(address, sent | {"paste": text})

    assert not studio.packs.exists()
    rows = shown.context["form"].rows
    assert [row.cells[0].text for row in rows[:2]] == ["Old blue", "Red"]
    again = {cell.field: cell.text for row in rows for cell in row.cells}
    again |= {"rows-0-material": there.pk, "rows-0-was": rows[0].was, "paste": ""}
    assert maker.client.post(address, again).status_code == 302
    assert sorted(studio.packs.values_list("material__name", "size")) == [
        ("Old blue", 500),
        ("Red", 250),
    ]
