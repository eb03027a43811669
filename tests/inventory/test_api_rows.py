"""Materials, suppliers, packs and recipes through the API."""

import pytest
from rest_framework.test import APIClient

from inventory.models import Material, Recipe
from inventory.stock import ledger as stock
from tests.factories.inventory import (
    MaterialFactory,
    PackFactory,
    RecipeFactory,
    RecipePartFactory,
    SupplierFactory,
)

API = "/api/v1/"


def test_a_material_is_added_read_and_changed(maker):
    made = maker.api.post(
        f"{API}materials/",
        {"name": "Ultramarine", "kind": "paint", "density_g_per_ml": "1.21", "pigments": "PB29"},
    )
    address = f"{API}materials/{made.data['id']}/"
    changed = maker.api.patch(address, {"reorder_point": "250"})

    assert made.status_code == 201
    assert (made.data["unit"], made.data["on_hand"], made.data["available"]) == (
        "ml",
        "0.0000",
        "0.0000",
    )
    assert changed.data == {**made.data, "reorder_point": "250.0000"}
    assert maker.api.get(address).data == changed.data


def test_what_is_on_hand_is_moved_and_never_written(maker, studio):
    material = MaterialFactory(studio=studio)

    answer = maker.api.patch(f"{API}materials/{material.pk}/", {"on_hand": "500", "value": "5"})

    assert (answer.status_code, set(answer.data["fields"])) == (400, {"on_hand", "value"})
    material.refresh_from_db()
    assert (material.on_hand, material.value) == (0, 0)


def test_bottles_keep_the_unit_they_are_counted_in(maker, studio):
    material = MaterialFactory(studio=studio)
    free = maker.api.patch(f"{API}materials/{material.pk}/", {"unit": "g"})
    receipt = stock.Receipt(
        material=Material.objects.get(), quantity=material.on_hand + 1, value=material.value
    )
    stock.receive(studio=studio, by=None, receipts=[receipt])

    refused = maker.api.patch(f"{API}materials/{material.pk}/", {"unit": "ml"})

    assert (free.status_code, free.data["unit"]) == (200, "g")
    assert (refused.status_code, set(refused.data["fields"])) == (400, {"unit"})


def test_a_name_stands_once_in_a_studio_and_again_in_another(maker, other_owner):
    theirs = MaterialFactory(studio=other_owner.studio, name="White")

    first = maker.api.post(f"{API}materials/", {"name": theirs.name, "kind": "paint"})
    second = maker.api.post(f"{API}materials/", {"name": theirs.name, "kind": "paint"})
    same = maker.api.patch(f"{API}materials/{first.data['id']}/", {"name": "White"})

    assert (first.status_code, same.status_code) == (201, 200)
    assert (second.status_code, set(second.data["fields"])) == (400, {"name"})
    assert Material.objects.filter(studio=maker.studio).count() == 1


def test_what_is_put_away_is_not_listed_and_comes_back(maker, studio):
    material = MaterialFactory(studio=studio)
    address = f"{API}materials/{material.pk}/"

    away = maker.api.delete(address)
    listed = [
        maker.api.get(f"{API}materials/{query}").data["count"] for query in ("", "?archived=true")
    ]
    back = maker.api.post(f"{address}bring-back/")

    assert (away.status_code, listed) == (204, [0, 1])
    assert (back.status_code, back.data["archived_at"]) == (200, None)
    assert maker.api.get(f"{API}materials/").data["count"] == 1


def test_materials_are_found_by_words_and_kind(maker, studio):
    MaterialFactory(studio=studio, name="Ultramarine", pigments="PB29")
    MaterialFactory(studio=studio, name="Gloss medium", kind="medium")

    found = {
        query: [row["name"] for row in maker.api.get(f"{API}materials/?{query}").data["results"]]
        for query in ("search=pb29", "search=MEDIUM", "kind=medium")
    }
    nonsense = maker.api.get(f"{API}materials/?kind=nonsense")

    assert found == {
        "search=pb29": ["Ultramarine"],
        "search=MEDIUM": ["Gloss medium"],
        "kind=medium": ["Gloss medium"],
    }
    assert (nonsense.status_code, set(nonsense.data["fields"])) == (400, {"kind"})


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({}, "name"),
        ({"name": "x"}, "kind"),
        ({"name": "x", "kind": "gadget"}, "kind"),
        ({"name": "x" * 121, "kind": "paint"}, "name"),
        ({"name": "x", "kind": "paint", "density_g_per_ml": "0"}, "density_g_per_ml"),
        ({"name": "x", "kind": "paint", "density_g_per_ml": "NaN"}, "density_g_per_ml"),
        ({"name": "x", "kind": "paint", "swatch": "blue"}, "swatch"),
        ({"name": "x", "kind": "paint", "shelf_life_days": -3}, "shelf_life_days"),
        ({"name": "x", "kind": "paint", "opened_life_days": 10**12}, "opened_life_days"),
        ({"name": "\0\n", "kind": "paint"}, "name"),
    ],
)
def test_a_material_that_cannot_be_is_refused_at_its_field(maker, body, field):
    answer = maker.api.post(f"{API}materials/", body)

    assert answer.status_code == 400
    assert field in answer.data["fields"]
    assert not Material.objects.exists()


def test_one_key_adds_one_material(maker):
    body, headers = {"name": "White", "kind": "paint"}, {"Idempotency-Key": "k1"}

    first, second = (maker.api.post(f"{API}materials/", body, headers=headers) for _ in range(2))

    assert (first.status_code, first.data) == (second.status_code, second.json())
    assert Material.objects.count() == 1


def test_a_supplier_keeps_its_terms(maker):
    made = maker.api.post(
        f"{API}suppliers/",
        {
            "name": "Paint Cupboard",
            "lead_days": "4.5",
            "shipping_fee": "$6.95",
            "minimum_order": 20,
        },
    )
    changed = maker.api.patch(f"{API}suppliers/{made.data['id']}/", {"free_shipping_over": "60"})

    assert (made.data["shipping_fee"], made.data["minimum_order"]) == ("6.950", "20.000")
    assert changed.data["free_shipping_over"] == "60.000"
    assert "studio" not in made.data


def test_a_pack_is_sized_as_it_says_on_the_label(maker, studio):
    material, supplier = MaterialFactory(studio=studio), SupplierFactory(studio=studio)
    body = {"supplier": supplier.pk, "material": material.pk, "size": "16 fl oz", "price": "12.50"}

    made = maker.api.post(f"{API}packs/", body)
    twice = maker.api.post(f"{API}packs/", body)
    changed = maker.api.patch(f"{API}packs/{made.data['id']}/", {"price": "13.10"})

    # 16 x 29.5735295625 mL
    assert (made.status_code, made.data["size"]) == (201, "473.1765")
    assert (made.data["material"]["name"], made.data["supplier"]["name"]) == (
        material.name,
        supplier.name,
    )
    assert twice.status_code == 400
    assert (changed.data["price"], changed.data["size"]) == ("13.100", "473.1765")


def test_packs_are_found_by_material_and_supplier(maker, studio):
    pack = PackFactory(studio=studio)
    PackFactory(studio=studio)

    for query in (f"material={pack.material_id}", f"supplier={pack.supplier_id}"):
        found = maker.api.get(f"{API}packs/?{query}").data["results"]
        assert [row["id"] for row in found] == [pack.pk]


def test_an_address_with_nonsense_in_it_is_refused_at_its_field(maker):
    for path in ("packs/?material=x", "bottles/?material=-1", "entries/?material=1.5"):
        answer = maker.api.get(f"{API}{path}")
        assert (answer.status_code, set(answer.data["fields"])) == (400, {"material"})


@pytest.fixture
def white(studio):
    return MaterialFactory(studio=studio, name="white")


@pytest.fixture
def sky(maker, studio, white):
    """A recipe as it is answered, of 3 parts of another recipe and half a part of white."""
    base = RecipeFactory(studio=studio, name="base")
    RecipePartFactory(recipe=base, material=white)
    parts = [{"recipe": base.pk, "parts": "3"}, {"material": white.pk, "parts": "0.5"}]
    answer = maker.api.post(f"{API}recipes/", {"name": "Sky", "trace_seconds": "3", "parts": parts})
    assert answer.status_code == 201
    return answer


def ingredients(answer):
    """Return what a recipe is made of, by name and number of parts."""
    rows = answer.data["parts"]
    return [((row["material"] or row["recipe"])["name"], row["parts"]) for row in rows]


def test_a_recipe_is_made_of_materials_and_recipes(sky):
    assert ingredients(sky) == [("base", "3.000"), ("white", "0.500")]
    assert (sky.data["role"], sky.data["basis"], sky.data["trace_seconds"]) == (
        "colour",
        "volume",
        "3.0",
    )


def test_parts_sent_take_the_place_of_those_before_and_the_rest_stays(maker, sky, white):
    address = f"{API}recipes/{sky.data['id']}/"

    renamed = maker.api.patch(address, {"name": "Dusk"})
    changed = maker.api.patch(address, {"parts": [{"material": white.pk, "parts": "1"}]})

    assert (renamed.data["name"], ingredients(renamed)) == ("Dusk", ingredients(sky))
    assert (changed.data["name"], ingredients(changed)) == ("Dusk", [("white", "1.000")])
    assert changed.data["trace_seconds"] == "3.0"


def test_recipes_are_found_by_role_and_words(maker, studio):
    RecipeFactory(studio=studio, name="Pillow", role="base")
    RecipeFactory(studio=studio, name="Sea", role="colour")

    found = {
        query: [row["name"] for row in maker.api.get(f"{API}recipes/?{query}").data["results"]]
        for query in ("role=base", "search=sea", "sort=-name")
    }

    assert found == {
        "role=base": ["Pillow"],
        "search=sea": ["Sea"],
        "sort=-name": ["Sea", "Pillow"],
    }


def test_an_unknown_name_is_refused_by_name(maker, sky, white):
    part = {"material": white.pk, "parts": "1", "grams": "5"}
    field = maker.api.patch(f"{API}recipes/{sky.data['id']}/", {"parts": [part], "colour": "blue"})
    query = maker.api.get(f"{API}recipes/?kind=base")

    assert (field.status_code, set(field.data["fields"])) == (400, {"parts.0.grams", "colour"})
    assert (query.status_code, set(query.data["fields"])) == (400, {"kind"})


def test_a_recipe_changed_meanwhile_is_kept_as_it_is(maker, sky):
    address = f"{API}recipes/{sky.data['id']}/"

    stale = maker.api.patch(address, {"name": "Dusk"}, headers={"If-Match": '"old"'})
    fresh = maker.api.patch(address, {"name": "Dawn"}, headers={"If-Match": sky["ETag"]})
    second = maker.api.patch(address, {"name": "Noon"}, headers={"If-Match": sky["ETag"]})
    unsaid = unmatched(maker).patch(address, {"name": "Night"}, format="json")

    assert [answer.status_code for answer in (stale, fresh, second, unsaid)] == [
        412,
        200,
        412,
        428,
    ]
    assert maker.api.get(address).data["name"] == "Dawn"


def unmatched(person):
    """Return a client with the person's token that never says which version it changes."""
    client = APIClient()
    client.credentials(**person.api._credentials)
    return client


def test_a_ring_of_recipes_is_refused_and_named(maker, studio, white):
    inner = RecipeFactory(studio=studio, name="inner")
    outer = RecipeFactory(studio=studio, name="outer")
    RecipePartFactory(recipe=inner, material=white)
    RecipePartFactory(recipe=outer, material=None, subrecipe=inner)

    answer = maker.api.patch(
        f"{API}recipes/{inner.pk}/", {"parts": [{"recipe": outer.pk, "parts": "1"}]}
    )

    assert (answer.status_code, answer.data["code"]) == (409, "recipe_refused")
    assert "inner → outer → inner" in answer.data["detail"]
    assert inner.parts.get().material == white


@pytest.mark.parametrize(
    "parts",
    [
        [],
        [{"parts": "1"}],
        [{"material": "white", "recipe": "base", "parts": "1"}],
        [{"material": "white", "parts": "0"}],
        [{"material": "white", "parts": "-1"}],
        [{"material": "white"}],
        "nonsense",
    ],
)
def test_parts_that_cannot_be_mixed_are_refused(maker, studio, white, parts):
    named = {"white": white.pk, "base": RecipeFactory(studio=studio, name="base").pk}
    if isinstance(parts, list):
        parts = [{key: named.get(value, value) for key, value in row.items()} for row in parts]

    answer = maker.api.post(f"{API}recipes/", {"name": "Sky", "parts": parts})

    assert answer.status_code in (400, 409)
    assert not Recipe.objects.filter(name="Sky").exists()


@pytest.mark.parametrize(
    ("kind", "body", "field"),
    [
        ("packs", {"price_breaks": [{"min_count": 2}]}, "price_breaks.0.price"),
        ("suppliers", {"shipping_tiers": [{"fee": 2}]}, "shipping_tiers.0.goods_from"),
        ("recipes", {"parts": [{"material": None}]}, "parts.0.parts"),
    ],
)
def test_what_stands_in_a_list_is_sent_whole_in_a_change_too(maker, studio, kind, body, field):
    rows = {"packs": PackFactory, "suppliers": SupplierFactory, "recipes": RecipeFactory}
    row = rows[kind](studio=studio)

    answer = maker.api.patch(f"{API}{kind}/{row.pk}/", body)

    assert (answer.status_code, list(answer.data["fields"])) == (400, [field])


def test_a_list_is_searched_for_so_many_words_only(maker):
    """A database takes only so many conditions: SQLite a thousand."""
    most, more = (maker.api.get(f"{API}materials/", {"search": "a " * n}) for n in (100, 2_000))

    assert most.status_code == 200
    assert (more.status_code, list(more.data["fields"])) == (400, ["search"])
