"""Lists of the stock room: as many queries for three rows as for one, filters kept, parts alike."""

import re

import pytest
from django.urls import reverse

from inventory.buying import purchasing
from tests.factories.everything import one_of_everything
from tests.factories.inventory import (
    HoldFactory,
    MaterialFactory,
    OrderLineFactory,
    PackFactory,
    PurchaseOrderFactory,
    RecipeFactory,
    RecipePartFactory,
    SupplierFactory,
)
from tests.inventory.pages import words
from tests.inventory.stock.shelves import D, receive, use

# Each page asks for the session, the person, and the membership with its studio: three. A list asks
# for how many rows there are and for the rows: two more. Levels ask for packs, for the history of
# the bottles, for the packs bought last, and for what was used: four.
LISTS = {
    "materials": 12,  # levels, holds, orders
    "bottles": 5,
    "entries": 6,  # movements with their materials and bottles
    "counts": 5,
    "suppliers": 5,
    "orders": 5,
    "recipes": 8,  # parts, their materials, their mixes
    "alerts": 42,  # levels, quotes, holds, orders, prices, mail: 14; late in 27; to be judged in 2
    "reorder": 14,  # levels, drafts, materials, holds, packs, names, last prices: eleven for two
}


def busy(studio, rows):
    """Fill a studio with rows of each kind that belong together; return the last of them."""
    for _ in range(rows):
        one = one_of_everything(studio)
        receive(one.material, (50, 1), pack=one.pack)
        use(one.material, 10, ignore_holds=True)
        RecipePartFactory(recipe=one.base, material=None, subrecipe=one.colour)
        low = MaterialFactory(studio=studio, reorder_point=D(100))
        PackFactory(studio=studio, material=low)
    return one


@pytest.mark.parametrize(("name", "queries"), LISTS.items())
@pytest.mark.parametrize("rows", (1, 3))
def test_a_list_asks_as_often_for_one_row_as_for_three(
    owner, studio, django_assert_num_queries, name, queries, rows
):
    busy(studio, rows)

    with django_assert_num_queries(queries):
        answer = owner.client.get(reverse(name))

    assert answer.content.count(b"<li>\n") >= rows


@pytest.mark.parametrize("rows", (1, 3))
def test_a_material_asks_the_same(owner, studio, django_assert_num_queries, rows):
    paint = MaterialFactory(studio=studio)
    for _ in range(rows):
        pack = PackFactory(studio=studio, material=paint)
        receive(paint, (100, 5), pack=pack)
        use(paint, 10)
        HoldFactory(studio=studio, material=paint, quantity=D(1))

    # the usual three; the material, its level (4), bottles, holds, packs, prices, movements
    with django_assert_num_queries(16):
        page = owner.client.get(reverse("material", args=[paint.pk]))

    assert page.content.count(b"Work ") == rows


@pytest.mark.parametrize("rows", (1, 3))
def test_a_bottle_and_its_life_ask_the_same(owner, studio, django_assert_num_queries, rows):
    paint = MaterialFactory(studio=studio)
    (bottle,) = receive(paint, (100, 5))
    for _ in range(rows):
        use(paint, 10)

    # the usual three; bottle, movements with entries, open counts
    with django_assert_num_queries(9):
        page = owner.client.get(reverse("bottle", args=[bottle.code]))

    assert words(page).count("−10 mL") == rows


@pytest.mark.parametrize("rows", (1, 3))
def test_an_entry_asks_the_same(owner, studio, django_assert_num_queries, rows):
    paint = MaterialFactory(studio=studio)
    entry = receive(paint, *[(100, 5)] * rows)[0].movements.get().entry

    with django_assert_num_queries(5):  # the usual three; entry, movements with bottles
        page = owner.client.get(reverse("entry", args=[entry.pk]))

    assert words(page).count("+100 mL") == rows


@pytest.mark.parametrize("rows", (1, 3))
def test_a_supplier_asks_the_same(owner, studio, django_assert_num_queries, rows):
    supplier = SupplierFactory(studio=studio)
    PackFactory.create_batch(rows, studio=studio, supplier=supplier)

    with django_assert_num_queries(5):  # the usual three; supplier, packs with materials
        page = owner.client.get(reverse("supplier", args=[supplier.pk]))

    assert words(page).count("0.0200 per mL") == rows


@pytest.mark.parametrize("rows", (1, 3))
def test_an_order_asks_the_same(owner, studio, django_assert_num_queries, rows):
    order = PurchaseOrderFactory(studio=studio)
    OrderLineFactory.create_batch(rows, order=order, count=4)

    with django_assert_num_queries(6):  # the usual three; order, lines, deliveries
        page = owner.client.get(reverse("order", args=[order.number]))

    assert words(page).count("4 × $10.00") == rows


@pytest.mark.parametrize("rows", (1, 3))
def test_a_recipe_asks_the_same(owner, studio, django_assert_num_queries, rows):
    recipe = RecipeFactory(studio=studio)
    RecipePartFactory.create_batch(rows, recipe=recipe, parts=D("2.5"))

    # The usual three; recipe, parts, mixes, where it is used; three of what is doubtful about it.
    with django_assert_num_queries(10):
        page = owner.client.get(reverse("recipe", args=[recipe.pk]))

    assert words(page).count("2.5 parts") == rows


@pytest.mark.parametrize("name", ("materials", "bottles", "entries"))
@pytest.mark.parametrize("query", ("", "?q=Material", "?q=nothing+like+it"))
def test_the_part_is_what_stands_on_the_page(owner, studio, name, query):
    busy(studio, 2)
    here = reverse(name) + query

    page = owner.client.get(here)
    part = owner.client.get(here, headers={"HX-Request": "true"})

    assert page["Vary"] == part["Vary"]
    assert "HX-Request" in part["Vary"]
    assert "<html" not in part.content.decode()
    assert part.content.decode().strip() in page.content.decode()


def test_going_back_in_the_browser_gets_the_whole_page(owner):
    back = {"HX-Request": "true", "HX-History-Restore-Request": "true"}

    assert "<html" in owner.client.get(reverse("materials"), headers=back).content.decode()


@pytest.mark.parametrize(
    ("name", "filters"),
    (
        ("materials", {"q": "Paint", "kind": "paint"}),
        ("bottles", {"q": "Paint", "all": "1"}),
        ("entries", {"q": "Paint"}),
    ),
)
def test_older_and_newer_keep_the_filters(owner, studio, monkeypatch, name, filters):
    monkeypatch.setattr("studio.views.lists.PAGE_SIZE", 2)
    for number in range(5):
        receive(MaterialFactory(studio=studio, name=f"Paint {number}"), (10, 1))
    receive(MaterialFactory(studio=studio, name="Other"), (10, 1))

    page = owner.client.get(reverse(name), filters | {"page": 2}).content.decode()

    assert "Page 2 of 3" in page
    links = re.findall(r'rel="(prev|next)" href="\?([^"]+)"', page)
    kept = "&amp;".join(f"{key}={value}" for key, value in filters.items())
    assert dict(links) == {"prev": f"{kept}&amp;page=1", "next": f"{kept}&amp;page=3"}
    assert 'value="Paint"' in page
    assert "Other</span>" not in page


@pytest.mark.parametrize("name", ("materials", "bottles", "entries", "suppliers", "orders"))
@pytest.mark.parametrize(
    "query", ("?page=99", "?page=x", "?q=%00", "?kind=nonsense", "?q=" + "x" * 999)
)
def test_nonsense_in_an_address_is_no_error(owner, studio, name, query):
    assert owner.client.get(reverse(name) + query).status_code == 200


def test_bottles_are_found_by_code_place_and_material(owner, studio):
    white = MaterialFactory(studio=studio, name="White")
    (found,) = receive(white, (10, 1))
    found.place = "Top shelf"
    found.save()
    receive(MaterialFactory(studio=studio, name="Blue"), (10, 1))

    for wanted in (found.code.lower(), "top", "whi"):
        page = words(owner.client.get(reverse("bottles"), {"q": wanted}))
        assert f"{found.code} White" in page
        assert "Blue" not in page


def test_empty_bottles_show_when_asked_for(owner, studio):
    paint = MaterialFactory(studio=studio)
    (bottle,) = receive(paint, (10, 1))
    use(paint, 10)

    assert bottle.code not in words(owner.client.get(reverse("bottles")))
    assert bottle.code in words(owner.client.get(reverse("bottles"), {"all": "1"}))


def test_the_ledger_shows_a_sheet_of_more_than_a_thousand_bottles(owner, studio):
    paint = MaterialFactory(studio=studio)
    receive(paint, *[(10, 1)] * 1_001)

    page, api = owner.client.get(reverse("entries")), owner.api.get(reverse("api-entries-list"))

    assert "and 997 more" in words(page)
    assert len(api.json()["results"][0]["movements"]) == 1_001


def test_the_ledger_is_found_by_material_bottle_and_purpose(owner, studio):
    paint = MaterialFactory(studio=studio, name="White")
    (bottle,) = receive(paint, (10, 1))
    use(paint, 4, purpose="Pour 12")
    receive(MaterialFactory(studio=studio, name="Blue"), (10, 1))

    for wanted, entries in (("white", 2), (bottle.code.lower(), 2), ("pour", 1), ("", 3)):
        page = owner.client.get(reverse("entries"), {"q": wanted})
        assert len(page.context["page"].object_list) == entries, wanted


@pytest.mark.parametrize("name", ("material", "supplier", "recipe"))
def test_what_is_put_away_is_listed_apart_and_brought_back(maker, studio, name):
    row = getattr(one_of_everything(studio), name)
    here, button = reverse(f"{name}s"), reverse(f"{name}-archive", args=[row.pk])

    maker.client.post(button)
    row.refresh_from_db()
    assert row.archived_at
    assert row not in maker.client.get(here).context["page"].object_list
    assert row in maker.client.get(here, {"away": "1"}).context["page"].object_list

    maker.client.post(button)
    row.refresh_from_db()
    assert row.archived_at is None


def test_a_button_sent_twice_acts_once(maker, studio):
    """Putting away and bringing back is one button, which a double tap must not undo."""
    supplier = SupplierFactory(studio=studio)
    button = reverse("supplier-archive", args=[supplier.pk])

    for _ in range(2):
        maker.client.post(button, {"once": "a-token"})

    supplier.refresh_from_db()
    assert supplier.archived_at


def test_an_order_is_made_sent_received_in_part_and_the_rest_called_off(maker, studio):
    paint = MaterialFactory(studio=studio, name="White", reorder_point=D(700))
    PackFactory(studio=studio, material=paint, size=D(500), price=D(10))
    for _ in range(2):
        made = maker.client.post(reverse("make-orders"), {"once": "a-token"}, follow=True)
    order = studio.purchase_orders.get()
    here = reverse("order", args=[order.number])
    assert made.redirect_chain[-1][0] == here
    line = order.lines.get()
    assert line.count == 2

    sent = maker.client.post(reverse("order-send", args=[order.number]), follow=True)
    assert "is sent; it should be here by" in words(sent)
    typed = {f"count_{line.pk}": 1, "received_on": str(studio.today())}
    came = maker.client.post(reverse("order-receive", args=[order.number]), typed, follow=True)
    assert "On the shelf as B0001. Print labels" in words(came)
    assert "Cancel the rest" in words(came)

    ended = maker.client.post(reverse("order-cancel", args=[order.number]), follow=True)
    assert f"The rest of {order} is cancelled." in words(ended)
    assert words(ended).count("Receive ") == 0
    assert purchasing.goods_of(order) == D(10)
