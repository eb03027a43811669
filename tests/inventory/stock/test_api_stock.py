"""Stock through the API: received, used, weighed, counted, thrown away, sent back, reversed."""

from datetime import datetime
from decimal import Decimal as D

import pytest
from rest_framework.test import APIClient

from inventory.models import Entry, Material, Movement
from inventory.stock import ledger as stock
from tests.factories.inventory import HoldFactory, MaterialFactory, PackFactory, SupplierFactory

API = "/api/v1/"


@pytest.fixture
def white(studio):
    return MaterialFactory(studio=studio, name="white", density_g_per_ml=D("1.25"), tare_g=D(30))


@pytest.fixture
def bottle(maker, white):
    """A bottle of 400 mL that cost 8.00."""
    answer = maker.api.post(
        f"{API}deliveries/",
        {"receipts": [{"material": white.pk, "quantity": "400", "price": "8.00"}]},
    )
    return answer.data["bottles"][0]


def post(person, path, body=None, key=""):
    return person.api.post(
        f"{API}{path}", body or {}, headers={"Idempotency-Key": key} if key else {}
    )


def test_what_arrived_shares_its_freight_by_price(maker, studio, white):
    blue = MaterialFactory(studio=studio, name="blue")
    supplier = SupplierFactory(studio=studio)

    answer = post(
        maker,
        "deliveries/",
        {
            "supplier": supplier.pk,
            "received_on": "2026-03-02",
            "freight": "6",
            "reference": "INV 7",
            "receipts": [
                {"material": white.pk, "quantity": "1 cup", "price": 10, "bottles": 2},
                {"material": blue.pk, "quantity": 500, "price": "20.00", "place": "shelf 2"},
            ],
        },
    )

    # 6.00 of freight over 10 + 10 + 20: 1.50, 1.50 and 3.00.
    assert answer.status_code == 201
    assert [row["value"] for row in answer.data["bottles"]] == [
        "11.500000",
        "11.500000",
        "23.000000",
    ]
    assert [row["remaining"] for row in answer.data["bottles"]] == [
        "236.5882",
        "236.5882",
        "500.0000",
    ]
    assert answer.data["bottles"][2]["place"] == "shelf 2"
    assert (answer.data["supplier"]["id"], answer.data["reference"]) == (supplier.pk, "INV 7")


def test_opening_stock_is_told_apart(maker, white):
    answer = post(
        maker,
        "deliveries/",
        {
            "is_opening_stock": True,
            "receipts": [{"material": white.pk, "quantity": "1", "price": "0"}],
        },
    )

    entry = maker.api.get(f"{API}entries/{answer.data['entry']}/").data
    assert [row["kind"] for row in entry["movements"]] == ["opening"]


def test_use_takes_from_the_bottle_named_then_the_next(maker, bottle, white):
    post(
        maker,
        "deliveries/",
        {"receipts": [{"material": white.pk, "quantity": "100", "price": "4"}]},
    )

    answer = post(
        maker, f"bottles/{bottle['code'].lower()}/use/", {"quantity": "450", "why": "test"}
    )

    # All 400 mL of the first at 0.02, then 50 of the second at 0.04.
    moves = answer.data["entry"]["movements"]
    assert [(row["quantity"], row["value"]) for row in moves] == [
        ("-400.0000", "-8.000000"),
        ("-50.0000", "-2.000000"),
    ]
    assert answer.data["bottle"]["remaining"] == "0.0000"
    assert answer.data["entry"]["by"] == maker.user.username


def test_a_use_of_several_materials_is_one_entry_or_none(maker, studio, bottle, white):
    blue = MaterialFactory(studio=studio, name="blue")
    amounts = [
        {"material": white.pk, "quantity": "2 tbsp", "bottles": [bottle["code"]]},
        {"material": blue.pk, "quantity": "5"},
    ]

    short = post(maker, "uses/", {"amounts": amounts})
    enough = post(maker, "uses/", {"amounts": amounts[:1], "purpose": "Swatches"})

    assert (short.status_code, short.data["code"]) == (409, "stock_shortfall")
    assert "blue is 5 mL short" in short.data["detail"]
    assert enough.status_code == 201
    # Two US tablespoons are 29.5735 mL.
    assert [row["quantity"] for row in enough.data["movements"]] == ["-29.5735"]
    assert Movement.objects.filter(kind="use").count() == 1


def test_what_is_held_for_others_is_refused_and_the_work_is_named(maker, studio, bottle, white):
    HoldFactory(studio=studio, material=white, quantity=D(390), label="Commission 4")

    answer = post(maker, f"bottles/{bottle['code']}/use/", {"quantity": "20"})

    assert (answer.status_code, answer.data["code"]) == (409, "stock_shortfall")
    assert "Commission 4" in answer.data["detail"]


def test_a_weight_settles_what_is_left(maker, bottle):
    # (405 g - 30 g of bottle) / 1.25 g/mL = 300 mL, so 100 mL at 0.02 are gone.
    answer = post(maker, f"bottles/{bottle['code']}/weigh/", {"gross_g": "405"})
    again = post(maker, f"bottles/{bottle['code']}/weigh/", {"gross_g": 405})

    assert answer.data["bottle"]["remaining"] == "300.0000"
    assert answer.data["entry"]["movements"][0]["value"] == "-2.000000"
    assert (again.status_code, again.data["entry"]) == (200, None)


def test_a_count_of_nothing_empties_a_bottle_and_puts_it_away(maker, bottle):
    empty = post(maker, f"bottles/{bottle['code']}/count/", {"quantity": 0})

    assert empty.data["bottle"]["remaining"] == "0.0000"
    assert empty.data["bottle"]["archived_at"] is not None
    assert maker.api.get(f"{API}bottles/").data["count"] == 0
    assert maker.api.get(f"{API}bottles/?archived=true").data["count"] == 1


def test_waste_and_returns_leave_at_the_bottles_cost(maker, bottle):
    wasted = post(maker, f"bottles/{bottle['code']}/waste/", {"quantity": "50", "why": "skinned"})
    returned = post(maker, f"bottles/{bottle['code']}/send-back/", {"quantity": "100"})

    assert [answer.data["entry"]["movements"][0]["kind"] for answer in (wasted, returned)] == [
        "waste",
        "return",
    ]
    assert wasted.data["entry"]["why"] == "skinned"
    assert returned.data["bottle"]["value"] == "5.000000"


def test_a_bottle_is_opened_and_changed_but_never_its_content(maker, bottle):
    opened = post(maker, f"bottles/{bottle['code']}/open/")
    address = f"{API}bottles/{bottle['code'].lower()}/"
    changed = maker.api.patch(address, {"place": "rack", "tare_g": "28.5"})
    content = maker.api.patch(address, {"remaining": "9999"})

    assert (content.status_code, set(content.data["fields"])) == (400, {"remaining"})
    assert opened.data["bottle"]["opened_on"] == maker.studio.today().isoformat()
    assert (changed.data["place"], changed.data["tare_g"]) == ("rack", "28.50")
    assert changed.data["remaining"] == "400.0000"


def test_an_entry_is_undone_once(maker, bottle):
    entry = post(maker, f"bottles/{bottle['code']}/use/", {"quantity": "60"}).data["entry"]

    undone = post(maker, f"entries/{entry['id']}/reverse/", {"why": "wrong bottle"})
    again = post(maker, f"entries/{entry['id']}/reverse/", {"why": "wrong bottle"})

    assert (undone.status_code, undone.data["reverses"]) == (201, entry["id"])
    assert (again.status_code, again.data["code"]) == (409, "cannot_reverse")
    assert maker.api.get(f"{API}entries/{entry['id']}/").data["reversed_by"] == undone.data["id"]
    assert maker.api.get(f"{API}bottles/{bottle['code']}/").data["remaining"] == "400.0000"


def test_the_ledger_is_found_by_bottle_and_material(maker, studio, bottle, white):
    other = MaterialFactory(studio=studio)
    post(
        maker, "deliveries/", {"receipts": [{"material": other.pk, "quantity": "1", "price": "1"}]}
    )

    by_bottle = maker.api.get(f"{API}entries/?bottle={bottle['code'].lower()}").data
    by_material = maker.api.get(f"{API}entries/?material={white.pk}").data

    assert by_bottle == by_material
    assert [row["movements"][0]["bottle"] for row in by_bottle["results"]] == [bottle["code"]]
    assert maker.api.get(f"{API}entries/").data["count"] == 2


def test_a_bottle_is_found_by_what_a_person_remembers(maker, bottle):
    for words in (bottle["code"][-3:].lower(), "WHI"):
        assert maker.api.get(f"{API}bottles/", {"search": words}).data["count"] == 1
    assert maker.api.get(f"{API}bottles/", {"search": "magenta"}).data["count"] == 0


ACTS = {
    "delivery": ("deliveries/", lambda white, bottle: _receipt(white)),
    "use": ("bottles/{code}/use/", lambda white, bottle: {"quantity": "10"}),
    "waste": ("bottles/{code}/waste/", lambda white, bottle: {"quantity": "10"}),
    "send back": ("bottles/{code}/send-back/", lambda white, bottle: {"quantity": "10"}),
    "weigh": ("bottles/{code}/weigh/", lambda white, bottle: {"gross_g": "100"}),
    "count": ("bottles/{code}/count/", lambda white, bottle: {"quantity": "3"}),
    "uses": ("uses/", lambda white, bottle: {"amounts": [{"material": white.pk, "quantity": 5}]}),
    "reverse": ("entries/{entry}/reverse/", lambda white, bottle: {"why": "mistaken"}),
}


def _receipt(material):
    return {"receipts": [{"material": material.pk, "quantity": "10", "price": "1"}]}


def test_an_unknown_name_is_refused_by_name(maker, bottle):
    field = post(maker, f"bottles/{bottle['code']}/use/", {"quantity": "1", "grams": "2"})
    query = maker.api.get(f"{API}entries/?bottles={bottle['code']}")

    assert (field.status_code, set(field.data["fields"])) == (400, {"grams"})
    assert (query.status_code, set(query.data["fields"])) == (400, {"bottles"})
    assert Entry.objects.count() == 1


def test_a_bottle_changed_meanwhile_is_kept_as_it_is(maker, bottle):
    address = f"{API}bottles/{bottle['code']}/"
    read = maker.api.get(address)
    unmatched = APIClient()
    unmatched.credentials(**maker.api._credentials)
    post(maker, f"bottles/{bottle['code']}/use/", {"quantity": "1"})

    stale = maker.api.patch(address, {"place": "rack"}, headers={"If-Match": read["ETag"]})
    unsaid = unmatched.patch(address, {"place": "rack"}, format="json")
    used = maker.api.post(f"{address}use/", {"quantity": "1"}, headers={"If-Match": read["ETag"]})

    assert (stale.status_code, stale.data["code"]) == (412, "changed_meanwhile")
    assert (unsaid.status_code, unsaid.data["code"]) == (428, "match_required")
    assert (used.status_code, Entry.objects.count()) == (412, 2)
    assert maker.api.get(address).data["place"] == ""


@pytest.mark.parametrize(("path", "body"), ACTS.values(), ids=ACTS)
def test_stock_sent_twice_with_one_key_moves_once(maker, white, bottle, path, body):
    path = path.format(code=bottle["code"], entry=Entry.objects.get().pk)

    first, second = (post(maker, path, body(white, bottle), key="k1") for _ in range(2))

    assert first.status_code in (200, 201)
    assert (first.status_code, first.data) == (second.status_code, second.json())
    assert Entry.objects.count() == 2


BAD = {
    "deliveries/": [
        ({}, "receipts"),
        ({"receipts": []}, "receipts"),
        ({"receipts": [{"quantity": "5", "price": "1"}]}, "material"),
        ({"receipts": [{"material": "{white}", "quantity": "lots", "price": "1"}]}, "quantity"),
        ({"receipts": [{"material": "{white}", "quantity": "-5", "price": "1"}]}, "quantity"),
        ({"receipts": [{"material": "{white}", "quantity": "NaN", "price": "1"}]}, "quantity"),
        ({"receipts": [{"material": "{white}", "quantity": "5", "price": "-1"}]}, "price"),
        ({"receipts": [{"material": "{white}", "quantity": "5", "price": "1", "capacity": "big"}]},
         "capacity"),
        ({"receipts": [{"material": "{white}", "quantity": "5", "price": "1", "bottles": 999}]},
         "bottles"),
        ({"received_on": "soon", "receipts": [{}]}, "received_on"),
    ],
    "uses/": [
        ({"amounts": []}, "amounts"),
        ({"amounts": [{"material": "{white}", "quantity": 0}]}, "quantity"),
        ({"amounts": [{"material": "{white}", "quantity": "1"}] * 2}, "amounts"),
        ({"amounts": [{"material": "{white}", "quantity": "1", "bottles": ["X"]}]}, "bottles"),
    ],
    "bottles/{code}/use/": [
        ({}, "quantity"),
        ({"quantity": ""}, "quantity"),
        ({"quantity": "1e999"}, "quantity"),
    ],
    "bottles/{code}/weigh/": [({}, "gross_g"), ({"gross_g": "heavy"}, "gross_g")],
    "bottles/{code}/count/": [({"quantity": "-1"}, "quantity")],
    "entries/{entry}/reverse/": [({}, "why")],
}  # fmt: skip  # a table: an address a row


@pytest.mark.parametrize(
    ("path", "body", "field"), [(path, *case) for path, cases in BAD.items() for case in cases]
)
def test_bad_input_names_the_field_and_moves_nothing(maker, white, bottle, path, body, field):
    for row in body.get("receipts", []) + body.get("amounts", []):
        if "material" in row:
            row["material"] = white.pk

    answer = post(maker, path.format(code=bottle["code"], entry=Entry.objects.get().pk), body)

    assert answer.status_code == 400
    assert [name for name in answer.data["fields"] if field in name.split(".")] != []
    assert Entry.objects.count() == 1


def test_items_are_counted_whole(maker, studio):
    tile = MaterialFactory(studio=studio, name="tile", kind="surface", unit="each")

    answer = post(
        maker,
        "deliveries/",
        {"receipts": [{"material": tile.pk, "quantity": "2.5", "price": "1"}]},
    )

    assert (answer.status_code, "whole" in str(answer.data)) == (400, True)
    assert not Material.objects.filter(on_hand__gt=0).exists()


def test_a_pack_of_another_material_is_refused(maker, studio, white):
    pack = PackFactory(studio=studio)
    receipt = {"material": white.pk, "quantity": "5", "price": "1", "pack": pack.pk}

    answer = post(maker, "deliveries/", {"receipts": [receipt]})

    assert set(answer.data["fields"]) == {"receipts.0.pack"}


def test_times_are_in_utc_whatever_clock_the_studio_goes_by(maker):
    maker.studio.time_zone = "Asia/Tokyo"  # +09:00 all year
    maker.studio.save()
    material = MaterialFactory(studio=maker.studio)
    receipt = stock.Receipt(material=material, quantity=D(10), value=D(1))
    stock.receive(studio=maker.studio, by=None, receipts=[receipt])

    entry = maker.api.get("/api/v1/entries/").json()["results"][0]

    assert entry["happened_at"].endswith("Z")
    assert datetime.fromisoformat(entry["happened_at"]) == Entry.objects.get().happened_at
