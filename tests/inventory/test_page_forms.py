"""Every form of the stock room: what it stores, what it refuses, and that nothing typed is lost."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Bottle, Material, OrderLine, Recipe
from tests.factories.inventory import MaterialFactory, PackFactory
from tests.inventory.pages import address, snapshot, stock_room, words
from tests.inventory.stock.shelves import D, receive

TODAY = "2026-01-01"
PARTS = {"parts-TOTAL_FORMS": 3, "parts-INITIAL_FORMS": 0}
# name: (what is typed well, what is typed badly, which of it must stand there again, the sentence)
FORMS = {
    "material-new": (
        {"name": "Teal", "kind": "paint", "unit": "ml", "is_stocked": "on"},
        {"name": "Teal", "kind": "paint", "unit": "ml", "swatch": "blueish"},
        "blueish",
        "Give a colour such as #1f6f8b.",
    ),
    "material-edit": (
        {"name": "Teal", "kind": "paint", "unit": "ml", "reorder_point": "250"},
        {"name": "Teal", "kind": "paint", "unit": "g"},
        "Teal",
        "Some of it is already counted in this unit.",
    ),
    "receive": (
        {"bottles": 2, "size": "8 fl oz", "price": "5.90", "received_on": TODAY},
        {"bottles": 2, "size": "lots", "price": "5.90", "received_on": TODAY},
        "lots",
        "write a volume such as 250 mL",
    ),
    "bottle-edit": (
        {"place": "Shelf 2", "tare_g": "21.5"},
        {"place": "Shelf 2", "opened_on": "1999-01-01"},
        "1999-01-01",
        "give a day from then on",
    ),
    "bottle-weigh": (
        {"gross_g": "75"},
        {"gross_g": "19"},
        "19",
        "19 g is less than the empty bottle",
    ),
    "bottle-count": ({"quantity": "0"}, {"quantity": "a bit"}, "a bit", "write a volume"),
    "bottle-take": (
        {"quantity": "40 mL", "why": "Test pour"},
        {"quantity": "400 mL", "why": "Test pour"},
        "400 mL",
        "is 300 mL short",
    ),
    "entry-undo": ({"why": "Counted twice"}, {"why": ""}, "", "This field is required."),
    "supplier-new": (
        {
            "name": "Dry Dock",
            "lead_days": "4",
            "lead_sd_days": "1",
            "minimum_order": "0",
            "shipping_fee": "6.95",
        },
        {"name": "Dry Dock", "email": "no address", "lead_days": "4"},
        "no address",
        "Enter a valid email address.",
    ),
    "supplier-edit": (
        {
            "name": "Dry Dock",
            "lead_days": "4",
            "lead_sd_days": "1",
            "minimum_order": "0",
            "shipping_fee": "6.95",
        },
        {"name": "Dry Dock", "lead_days": "-4"},
        "-4",
        "greater than or equal to 0",
    ),
    "pack-new": (
        {"material": "material.pk", "size": "946", "price": "16.40", "minimum_count": 1},
        {"material": "material.pk", "size": "500", "price": "16.40", "minimum_count": 1},
        "16.40",
        "already exists",
    ),
    "pack-edit": (
        {"material": "material.pk", "size": "946", "price": "16.40", "minimum_count": 1},
        {"material": "material.pk", "size": "0", "price": "16.40", "minimum_count": 1},
        "16.40",
        "A volume must be between",
    ),
    "order-line-new": (
        {"pack": "pack.pk", "count": 2},
        {"pack": "pack.pk", "count": 0},
        "0",
        "greater than or equal to 1",
    ),
    "order-line": ({"count": 5}, {"count": -1}, "-1", "greater than or equal to 0"),
    "order-receive": (
        {"count": 1, "price": "9.50", "received_on": TODAY, "freight": "4"},
        {"count": 7, "price": "9.50", "received_on": TODAY},
        "9.50",
        "less than or equal to 1",
    ),
    "recipe-new": (
        {
            "name": "Sea mix",
            "role": "colour",
            "basis": "volume",
            "parts-0-parts": 2,
            "parts-0-what": "m material.pk",
            **PARTS,
        },
        {
            "name": "Sea mix",
            "role": "colour",
            "basis": "volume",
            "parts-0-parts": 2,
            "parts-0-what": "",
            **PARTS,
        },
        "Sea mix",
        "Row 1: Give both the parts and what they are of",
    ),
    "recipe-edit": (
        {
            "name": "Sea mix",
            "role": "base",
            "basis": "weight",
            "parts-0-parts": 3,
            "parts-0-what": "m material.pk",
            **PARTS,
        },
        {
            "name": "Sea mix",
            "role": "base",
            "basis": "weight",
            "parts-0-parts": 3,
            "parts-0-what": "r recipe.pk",
            **PARTS,
        },
        "Sea mix",
        "Row 1: Select a valid choice.",
    ),
}


@pytest.fixture
def one(studio):
    return stock_room(studio)


def filled(name, data, one):
    """Put the keys of the rows that are there into what is typed."""
    typed = {}
    for field, value in data.items():
        if name == "order-receive" and field in ("count", "price"):
            field = f"{field}_{one.order_line.pk}"
        before, _, path = str(value).rpartition(" ")
        row, _, key = path.partition(".")
        if key == "pk":
            value = f"{before}{getattr(one, row).pk}"
        typed[field] = value
    return typed


@pytest.mark.parametrize("name", FORMS)
def test_a_form_stores_what_is_typed_and_goes_on(maker, one, name):
    before = snapshot()

    answer = maker.client.post(address(name, one), filled(name, FORMS[name][0], one), follow=True)

    assert answer.redirect_chain[0][1] == 302
    assert answer.status_code == 200
    assert [message.level_tag for message in answer.context["messages"]] == ["success"]
    assert snapshot() != before


@pytest.mark.parametrize("name", FORMS)
def test_a_form_refuses_in_words_and_keeps_what_was_typed(maker, one, name):
    _, bad, kept, sentence = FORMS[name]
    before = snapshot()

    answer = maker.client.post(address(name, one), filled(name, bad, one))

    assert answer.status_code == 422
    assert sentence in words(answer)
    assert kept in answer.content.decode()
    assert snapshot() == before


@pytest.mark.parametrize("name", FORMS)
def test_a_form_sent_twice_acts_once(maker, one, name):
    typed = filled(name, FORMS[name][0], one) | {"once": "a-token"}

    first = maker.client.post(address(name, one), typed)
    stored = snapshot()
    second = maker.client.post(address(name, one), typed)

    assert (second.status_code, second["Location"]) == (302, first["Location"])
    assert snapshot() == stored


@pytest.mark.parametrize("name", FORMS)
def test_an_empty_form_is_refused_where_it_needs_something(maker, one, name):
    before = snapshot()

    answer = maker.client.post(address(name, one), {"nothing": "typed"})

    may_be_empty = {"bottle-edit"}  # a place and dates that may all be left out
    assert answer.status_code == (302 if name in may_be_empty else 422)
    assert name in may_be_empty or snapshot() == before


def test_the_forms_that_a_page_shows_carry_a_token(maker, one):
    for name in FORMS:
        page = maker.client.get(address(name, one)).content.decode()
        assert page.count('name="once"') >= 1, name


def test_a_token_of_somebody_else_does_not_repeat_their_answer(maker, owner, one):
    here, typed = address("bottle-take", one), {"quantity": "10 mL", "once": "seen-by-both"}

    maker.client.post(here, typed)
    owner.client.post(here, typed)

    assert Bottle.objects.get(pk=one.bottle.pk).remaining == D(80)


def test_going_back_and_changing_the_amount_is_another_act(maker, one):
    here = address("bottle-take", one)

    for quantity in ("10 mL", "30 mL", "30 mL"):
        maker.client.post(here, {"quantity": quantity, "once": "same-page"})

    assert Bottle.objects.get(pk=one.bottle.pk).remaining == D(60)


def test_a_name_used_before_is_refused_beside_its_field(maker, one):
    one.material.archived_at = one.order.created_at
    one.material.save()
    typed = {"name": one.material.name, "kind": "paint", "unit": "ml", "notes": "kept"}

    answer = maker.client.post(reverse("material-new"), typed)

    assert answer.status_code == 422
    assert f"Name: Material “{one.material}” already exists. It was archived" in words(answer)
    assert ">\nkept</textarea>" in answer.content.decode()


@pytest.mark.parametrize("name", ("supplier", "recipe"))
def test_a_supplier_or_recipe_of_that_name_is_refused(maker, one, name):
    row = getattr(one, name)
    row.archived_at = one.order.created_at
    row.save()
    typed = filled(f"{name}-new", FORMS[f"{name}-new"][0], one) | {"name": row.name}

    answer = maker.client.post(reverse(f"{name}-new"), typed)

    assert answer.status_code == 422
    assert "already exists. It was archived" in words(answer)


def test_what_only_the_database_can_refuse_is_a_sentence_too(maker, one, monkeypatch):
    """Two people save one name at once: the form of the second found none yet."""
    monkeypatch.setattr(
        "inventory.supplies.forms.materials.MaterialForm._post_clean", clean_without_looking
    )
    typed = {"name": one.material.name, "kind": "paint", "unit": "ml"}
    before = snapshot()

    answer = maker.client.post(reverse("material-new"), typed)

    assert answer.status_code == 422
    assert "This clashes with something that is there already" in words(answer)
    assert snapshot() == before


def clean_without_looking(form):
    for name, value in form.cleaned_data.items():
        setattr(form.instance, name, value)


def test_a_shelf_life_longer_than_a_calendar_is_refused(maker, one):
    typed = {"name": "Old", "kind": "paint", "unit": "ml", "shelf_life_days": 2_000_000_000}

    answer = maker.client.post(reverse("material-new"), typed)

    assert answer.status_code == 422
    assert "less than or equal to 36500" in words(answer)


@pytest.mark.parametrize("day", ("0001-01-01", "9999-12-31", "2199-01-01"))
def test_a_delivery_from_another_age_is_no_server_error(maker, one, day):
    typed = {"bottles": 1, "size": "10 ml", "price": "1", "received_on": day}

    assert maker.client.post(address("receive", one), typed).status_code in (302, 422)


def test_a_bottle_that_cannot_be_weighed_says_what_to_enter(maker, studio):
    (bottle,) = receive(MaterialFactory(studio=studio), (100, 5))
    (box,) = receive(MaterialFactory(studio=studio, unit="each"), (10, 5))

    paint = maker.client.get(reverse("bottle-weigh", args=[bottle.code]))
    tiles = maker.client.get(reverse("bottle-weigh", args=[box.code]))

    assert "what the empty bottle weighs and what 1 mL of it weighs" in words(paint)
    assert reverse("bottle-edit", args=[bottle.code]) in paint.content.decode()
    assert b"gross_g" not in paint.content
    assert "counted in whole items" in words(tiles)
    assert reverse("bottle-count", args=[box.code]) in tiles.content.decode()


def test_weighing_says_what_is_left_or_that_the_books_were_right(maker, one):
    here = address("bottle-weigh", one)

    changed = maker.client.post(here, {"gross_g": "75"}, follow=True)  # (75 - 20) / 1.1
    agreed = maker.client.post(here, {"gross_g": "75"}, follow=True)

    assert f"{one.bottle.code} now holds 50 mL." in words(changed)
    assert "holds what the books say" in words(agreed)


def test_more_rows_keep_what_was_typed_and_store_nothing(maker, one):
    typed = filled("recipe-new", FORMS["recipe-new"][0], one) | {"more": "1", "notes": "Stir"}

    answer = maker.client.post(reverse("recipe-new"), typed)

    page = answer.content.decode()
    assert answer.status_code == 200
    assert 'value="Sea mix"' in page
    assert "Stir" in page
    assert f'<option value="m{one.material.pk}" selected>' in page
    assert 'name="parts-TOTAL_FORMS" value="4"' in page  # the one filled and three more
    assert not Recipe.objects.filter(name="Sea mix").exists()


def test_a_recipe_keeps_a_part_that_was_put_away(maker, one):
    one.material.archived_at = one.order.created_at
    one.material.save()

    page = maker.client.get(address("recipe-edit", one)).content.decode()

    assert f'<option value="m{one.material.pk}" selected>' in page


def test_a_pack_to_receive_fills_the_form(maker, one):
    here = f"{address('receive', one)}?pack={one.pack.pk}"

    page = maker.client.get(here).content.decode()

    assert 'value="500 mL"' in page
    assert 'value="10.00"' in page
    assert f'<option value="{one.supplier.pk}" selected>' in page


@pytest.mark.parametrize("pack", ("x", "0", "99999999999999999999"))
def test_a_pack_that_is_not_there_fills_nothing(maker, one, pack):
    assert maker.client.get(f"{address('receive', one)}?pack={pack}").status_code == 200


def test_none_of_a_line_takes_it_off_the_draft(maker, one):
    more = PackFactory(studio=one.studio, supplier=one.supplier)
    maker.client.post(address("order-line-new", one), {"pack": more.pk, "count": 3})

    answer = maker.client.post(address("order-line", one), {"count": 0}, follow=True)

    assert "is off the order." in words(answer)
    assert list(OrderLine.objects.values_list("pack", "count")) == [(more.pk, 3)]


def test_taking_a_line_off_twice_is_answered_the_same(maker, one):
    here, typed = address("order-line", one), {"count": 0, "once": "a-token"}

    answers = [maker.client.post(here, typed) for _ in range(2)]

    assert {(answer.status_code, answer["Location"]) for answer in answers} == {
        (302, address("order", one))
    }


def test_a_form_without_its_csrf_token_is_refused(maker, one):
    client = Client(enforce_csrf_checks=True)
    client.force_login(maker.user)

    assert client.post(address("bottle-count", one), {"quantity": "1"}).status_code == 403
    assert Material.objects.get(pk=one.material.pk).on_hand == D(100)


def test_a_bottle_in_use_comes_in_as_it_stands(studio, maker):
    white = MaterialFactory(studio=studio, density_g_per_ml=D("1.1"))
    day = studio.today() - timedelta(days=9)
    typed = {
        "bottles": 1,
        "size": "120 mL",
        "price": "3",
        "received_on": day,
        "opening": "on",
        "code": "WHITE-2",
        "opened_on": day,
        "capacity": "473 mL",
        "tare_g": "31.5",
        "density_g_per_ml": "1.25",
    }

    maker.client.post(reverse("receive", args=[white.pk]), typed)

    bottle = studio.bottles.get()
    assert (bottle.code, bottle.remaining, bottle.capacity) == ("WHITE-2", 120, 473)
    assert (bottle.opened_on, bottle.tare_g, bottle.density) == (day, D("31.5"), D("1.25"))
    assert bottle.movements.get().kind == "opening"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"bottles": 2, "code": "W"}, "One code is for one bottle"),
        ({"opened_on": "2099-01-01"}, "not one to come"),
    ],
)
def test_a_bottle_in_use_that_cannot_be_is_refused(studio, maker, typed, words):
    white = MaterialFactory(studio=studio)
    wanted = {"bottles": 1, "size": "120 mL", "price": "3", "received_on": studio.today()}

    answer = maker.client.post(reverse("receive", args=[white.pk]), wanted | typed)

    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not studio.bottles.exists()


def test_more_rows_of_a_recipe_are_given_whatever_number_the_form_says_it_has(maker, one):
    typed = {"more": "", "name": "Gold mix", "parts-0-parts": "2", "parts-0-what": ""}

    for said in (".5", "-1", "", "9" * 30):
        page = maker.client.post(reverse("recipe-new"), typed | {"parts-TOTAL_FORMS": said})

        assert page.status_code == 200
        assert 'name="parts-0-parts" value="2"' in page.content.decode()
