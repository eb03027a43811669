"""Who may use the pages of the stock room, and what each shows for one of everything."""

import pytest
from django.urls import reverse

from inventory import urls
from inventory.buying import purchasing
from inventory.models import PurchaseOrder
from tests.factories.inventory import HoldFactory, MaterialFactory, OrderLineFactory
from tests.inventory.pages import BUTTONS, OBJECT_PAGES, PAGES, address, stock_room, words
from tests.inventory.stock.shelves import D, keep_run_off, receive, use

MAKERS = [name for name, (least, _) in PAGES.items() if least != "viewer"]
PATTERNS = [one for wing in urls.urlpatterns for one in wing.url_patterns]
OWNERS = [name for name, (least, _) in PAGES.items() if least == "owner"]


@pytest.fixture
def one(studio):
    return stock_room(studio)


def statuses(client, names, one, method="get"):
    """Return {name: status} of asking for each page."""
    return {name: getattr(client, method)(address(name, one)).status_code for name in names}


def test_no_page_is_forgotten():
    named = {pattern.name for pattern in PATTERNS}

    assert {name for name in named if not name.startswith("import")} == set(PAGES)


def test_every_page_says_its_role():
    said = {pattern.name: pattern.callback.role for pattern in PATTERNS}

    assert {name: said[name] for name in PAGES} == {
        name: least for name, (least, _) in PAGES.items()
    }


def test_an_owner_sees_every_page(owner, one):
    pages = [name for name in PAGES if name not in BUTTONS]

    assert statuses(owner.client, pages, one) == dict.fromkeys(pages, 200)


def test_a_maker_sees_every_page_but_an_owners(maker, one):
    expected = {name: 403 if name in OWNERS else 200 for name in PAGES if name not in BUTTONS}

    assert statuses(maker.client, expected, one) == expected
    assert statuses(maker.client, OWNERS, one, "post") == dict.fromkeys(OWNERS, 403)


def test_a_viewer_looks_and_changes_nothing(viewer, one):
    refused = {*MAKERS, "material-prices"}  # the last tells of costs, see test_sight.py
    expected = {name: 403 if name in refused else 200 for name in PAGES if name not in BUTTONS}

    assert statuses(viewer.client, expected, one) == expected
    assert statuses(viewer.client, MAKERS, one, "post") == dict.fromkeys(MAKERS, 403)


def test_a_viewer_reads_who_may(viewer, one):
    page = viewer.client.get(address("bottle-weigh", one))

    assert f"Only a maker or owner of {viewer.studio} can do this." in words(page)


def test_a_viewer_is_offered_no_act(viewer, one):
    for name in ("materials", "material", "bottle", "entry", "supplier", "order", "recipe"):
        page = viewer.client.get(address(name, one)).content.decode()
        assert "Archived<" not in page
        assert page.count('method="post"') == 1, name  # signing out


@pytest.mark.parametrize("method", ("get", "post"))
def test_to_another_studio_there_is_nothing(other_owner, one, method):
    names = [name for name in OBJECT_PAGES if method == "post" or name not in BUTTONS]
    expected = dict.fromkeys(names, 404)
    if method == "post":  # pages to look at know no POST
        looks = [name for name in names if PAGES[name][0] == "viewer"]
        expected |= dict.fromkeys(looks, 405)

    assert statuses(other_owner.client, names, one, method) == expected


def test_lists_show_no_row_of_another_studio(other_owner, one):
    said = " ".join(
        words(other_owner.client.get(address(name, one)))
        for name, (least, rows) in PAGES.items()
        if least == "viewer" and not rows and not name.endswith(("-sheet", "-test"))
    )

    for row in (one.material, one.supplier, one.order, one.recipe, one.bottle.code):
        assert str(row) not in said


def test_a_line_of_another_order_is_not_on_this_one(owner, one):
    other = OrderLineFactory(order__studio=owner.studio, order__number=99)

    assert owner.client.get(address("order-line", one, pk=other.pk)).status_code == 404


def test_lists_without_rows_say_what_to_do(owner):
    expected = {
        "materials": "Add the first material",
        "bottles": "Nothing on the shelf yet",
        "entries": "Nothing has moved yet",
        "suppliers": "Add the first supplier",
        "orders": "No orders yet",
        "recipes": "Write the first recipe",
        "alerts": "Nothing needs you",
        "reorder": "Nothing to buy",
    }

    for name, sentence in expected.items():
        assert sentence in words(owner.client.get(reverse(name)))


def test_a_material_says_when_to_buy_and_why(owner, studio):
    paint = MaterialFactory(studio=studio, name="White", reorder_point=D("250"))
    receive(paint, (600, 12))
    use(paint, 300)

    page = words(owner.client.get(reverse("material", args=[paint.pk])))

    assert "Time to buy at 250 mL" in page
    assert "Set by hand at 250 mL." in page
    assert "what is free lasts about 1 day" in page  # 300 mL in its first day on the shelf


def test_the_list_marks_what_the_alerts_name(owner, studio):
    low = MaterialFactory(studio=studio, name="Low", reorder_point=D(100))
    short = MaterialFactory(studio=studio, name="Promised")
    out = MaterialFactory(studio=studio, name="Gone", reorder_point=D(10))
    kept = MaterialFactory(studio=studio, name="Scraped", kind="mix")
    for material, quantity in ((low, 80), (short, 50), (kept, 40)):
        receive(material, (quantity, 1))
    HoldFactory(studio=studio, material=short, quantity=D(60))

    page = words(owner.client.get(reverse("materials")))

    assert "Low Paint Running low 80 mL" in page
    assert "Promised Paint Short for accepted work 50 mL" in page
    assert "Gone Paint Out 0 mL" in page
    assert "Scraped Mixed or reclaimed paint Reclaimed 40 mL" in page
    assert out.name in words(owner.client.get(reverse("alerts")))


def test_what_nobody_sells_is_named_though_nothing_can_be_bought(owner, studio):
    paint = MaterialFactory(studio=studio, name="White")
    HoldFactory(studio=studio, material=paint, quantity=D(60))

    page = words(owner.client.get(reverse("reorder")))

    assert "No supplier offers White" in page
    assert "Nothing can be bought now" in page


def test_a_bottle_of_run_off_says_where_it_came_from(owner, studio):
    kept = MaterialFactory(studio=studio, kind="mix")
    bottle = keep_run_off(kept, 40, 0, purpose="Pour 12")

    assert "run-off kept from Pour 12" in words(
        owner.client.get(reverse("bottle", args=[bottle.code]))
    )


def test_a_closed_order_offers_no_act(owner, one):
    purchasing.cancel_order(order=one.order)
    here = address("order", one)

    page = owner.client.get(here).content.decode()

    assert page.count('method="post"') == 1  # signing out
    for name in ("order-receive", "order-line-new", "order-line"):
        answer = owner.client.get(address(name, one))
        assert answer.status_code == 409
        assert f"{one.order} is cancelled" in words(answer)
    assert PurchaseOrder.objects.get(pk=one.order.pk).status == "cancelled"
