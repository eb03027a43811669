"""The studio's week by the API alone: from an empty shelf to the profit on each coaster set.

Every write is sent twice with one Idempotency-Key, as a shaky connection would, and acts once.
"""

from decimal import Decimal as D
from io import BytesIO, StringIO
from itertools import count

import pytest
from django.core.management import call_command
from pypdf import PdfReader

from pricing.costing.defaults import prepare_studio
from tests.conftest import member
from tests.factories.going_on import WITH
from tests.factories.studio import StudioFactory

# name: (kind, unit, size of a pack, price of a pack, packs on hand)
SHELF = {
    "Titanium white": ("paint", "ml", 1000, "18.00", 1),
    "Ultramarine": ("paint", "ml", 250, "9.50", 1),
    "Gold pearl": ("paint", "ml", 250, "11.00", 1),
    "Pouring medium": ("medium", "ml", 1000, "16.00", 1),
    "Resin part A": ("resin", "ml", 500, "30.00", 1),
    "Resin part B": ("hardener", "ml", 500, "30.00", 1),
    "Ceramic tile 10 cm": ("surface", "each", 10, "8.00", 0),
    "Canvas 8 × 8 in": ("surface", "each", 1, "7.00", 1),
    "Coaster box": ("packaging", "each", 10, "9.00", 1),
}
# name: (role, {material: parts})
RECIPES = {
    "White base": ("base", {"Titanium white": 2, "Pouring medium": 1}),
    "Deep blue": ("colour", {"Ultramarine": 1, "Pouring medium": 1}),
    "Gold": ("colour", {"Gold pearl": 1, "Pouring medium": 1}),
    "Cell maker": ("activator", {"Titanium white": 1, "Pouring medium": 1}),
}


class Caller:
    """Somebody with a token whose every write goes out twice under one key."""

    keys = count()

    def __init__(self, person):
        self.api = person.api

    def get(self, path, **asked):
        answer = self.api.get(f"/api/v1/{path}", asked)
        assert answer.status_code == 200, answer.content
        return answer.json() if "json" in answer["Content-Type"] else answer.content

    def rows(self, path, **asked):
        return self.get(path, **asked)["results"]

    def post(self, path, body=None, method="post"):
        headers = {"Idempotency-Key": f"story-{next(self.keys)}"}
        first, second = (
            getattr(self.api, method)(f"/api/v1/{path}", body or {}, headers=headers)
            for _ in range(2)
        )
        assert first.status_code in (200, 201), first.content
        assert (first.status_code, first.json()) == (second.status_code, second.json())
        return first.json()

    def patch(self, path, body):
        return self.post(path, body, method="patch")


@pytest.fixture
def studio(db):
    studio = StudioFactory(name="Heron Yard", margin=D("0.25"), tax_rate=D("0.08"))
    prepare_studio(studio)
    return studio


@pytest.fixture
def owner(studio):
    return Caller(member(studio, "owner"))


@pytest.fixture
def maker(studio):
    return Caller(member(studio, "maker", sees_costs=True))


def stocked(maker):
    """Write the shelf down and put what is there on it; returns the ids by name."""
    shop = maker.post(
        "suppliers/", {"name": "Harbour Supplies", "shipping_fee": "6", "lead_days": 3}
    )
    ids, receipts = {"shop": shop["id"]}, []
    for name, (kind, unit, size, price, on_hand) in SHELF.items():
        density = "1.1" if unit == "ml" else None
        made = maker.post(
            "materials/", {"name": name, "kind": kind, "unit": unit, "density_g_per_ml": density}
        )
        ids[name] = made["id"]
        pack = {"supplier": shop["id"], "material": made["id"], "size": size, "price": price}
        ids[f"pack of {name}"] = maker.post("packs/", pack)["id"]
        if on_hand:
            bought = {"material": made["id"], "quantity": size, "price": price}
            receipts.append({**bought, "pack": ids[f"pack of {name}"]})
    # Two tiles are left over from last week.
    receipts.append({"material": ids["Ceramic tile 10 cm"], "quantity": 2, "price": "1.60"})
    came = maker.post("deliveries/", {"is_opening_stock": True, "receipts": receipts})
    assert len(came["bottles"]) == len(receipts)
    return ids


def catalogued(maker, owner, ids):
    """Write down what the studio works with."""
    for name, (role, parts) in RECIPES.items():
        rows = [{"material": ids[material], "parts": number} for material, number in parts.items()]
        ids[name] = maker.post("recipes/", {"name": name, "role": role, "parts": rows})["id"]
    palette = {
        "name": "Night harbour",
        "base": ids["White base"],
        "activator": ids["Cell maker"],
        "colours": [{"recipe": ids["Deep blue"], "parts": 2}, {"recipe": ids["Gold"], "parts": 1}],
    }
    ids["palette"] = maker.post("palettes/", palette)["id"]
    kit = {
        "name": "Clear coat",
        "resin": ids["Resin part A"],
        "hardener": ids["Resin part B"],
        "ratio_a": 1,
        "ratio_b": 1,
        "basis": "volume",
        "heat_limit_c": 60,
    }
    ids["kit"] = maker.post("resin-kits/", kit)["id"]
    for name, size, material in (
        ("Tile 10 cm", "10 x 10 x 0.6 cm", "Ceramic tile 10 cm"),
        ("Canvas 8 in", "8 x 8 x 1.5 in", "Canvas 8 × 8 in"),
    ):
        surface = {"name": name, "size": size, "material": ids[material]}
        ids[name] = maker.post("surfaces/", surface)["id"]
    ids["fair"] = owner.post(
        "channels/", {"name": "Fair", "percent_fee": "0.05", "fixed_fee": "0.3"}
    )["id"]


def asked_for(maker, ids):
    """Take the commission down: two coaster sets under resin, and a deep canvas."""
    commission = maker.post(
        "commissions/",
        {"title": "Coasters and a canvas", "new_customer": "Mara Finch", "due_on": "2030-06-01"},
    )
    address = f"commissions/{commission['number']}/"
    common = {"technique": "bloom", "palette": ids["palette"]}
    coasters = {
        **common,
        "surface": ids["Tile 10 cm"],
        "quantity": 2,
        "pieces_each": 4,
        "topcoat": ids["kit"],
        "packaging": ids["Coaster box"],
        **WITH,
    }
    asked = (coasters, {**common, "surface": ids["Canvas 8 in"], "use": "look"})
    return address, [maker.post(f"{address}lines/", line) for line in asked]


def text(pdf):
    """Return the words of a PDF, whose columns may break them into lines."""
    pages = [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]
    return " ".join(" ".join(pages).split())


def poured(maker, line, count, good, amounts):
    """Log a pour of a line with what was mixed of each layer."""
    layers = [{"layer": layer, "mixed_ml": mixed} for layer, mixed in amounts.items()]
    pour = maker.post(
        "pours/",
        {"line": line["id"], "count": count, "minutes": 50, "layers": layers},
    )
    seen = [
        {"piece": number, "verdict": "good" if number <= good else "failed"}
        for number in range(1, count + 1)
    ]
    return maker.post(f"pours/{pour['number']}/judge/", {"pieces": seen})


def test_from_an_empty_shelf_to_the_profit_on_each_set(studio, owner, maker):
    ids = stocked(maker)
    catalogued(maker, owner, ids)
    address, (coasters, canvas) = asked_for(maker, ids)

    # How much it takes, and what is short.
    estimate = maker.get(f"{address}estimate/")
    layers = {row["layer"]: row for row in estimate["lines"][0]["estimate"]["layers"]}
    assert list(layers) == ["base", "colours", "activator", "topcoat"]
    assert all(D(row["low_ml"]) < D(row["high_ml"]) for row in layers.values())
    check = maker.get(f"{address}stock-check/")
    short = {row["material"]["name"]: D(row["missing"]) for row in check["short"]}
    assert short["Ceramic tile 10 cm"] == 6

    # What it costs the customer, on paper, and yes.
    number = maker.get(address)["number"]
    draft = owner.post("quotes/", {"commission": number, "shipping": "10"})
    quote = owner.post(f"quotes/{draft['id']}/send/", WITH)
    paper = text(maker.get(f"quotes/{quote['id']}/pdf/"))
    assert quote["label"] in paper and f"{D(quote['gross']):.2f}" in paper
    before = {row["material"]["name"]: row["kind"] for row in maker.rows("alerts/")}
    maker.post(f"quotes/{quote['id']}/accept/", {"name": "Mara Finch"})
    held = {row["material"]["name"]: row for row in maker.rows("holds/", page_size=200)}
    assert (held["Ceramic tile 10 cm"]["outstanding"], held["Ceramic tile 10 cm"]["covered"]) == (
        "8.0000",
        "2.0000",
    )
    after = {row["material"]["name"]: row["kind"] for row in maker.rows("alerts/")}
    assert before["Ceramic tile 10 cm"] == "low"
    assert after["Ceramic tile 10 cm"] == "held_beyond_stock"

    # What to buy, ordered and received.
    plan = maker.get("reorder-plan/")
    buying = {line["material"]["name"] for order in plan["orders"] for line in order["lines"]}
    assert set(short) <= buying
    assert "Ceramic tile 10 cm" in text(maker.get("reorder-plan/sheet/"))
    (order,) = maker.post("orders/")
    maker.post(f"orders/{order['number']}/send/")
    came = [{"line": line["id"], "count": line["count"]} for line in order["lines"]]
    maker.post(f"orders/{order['number']}/receive/", {"lines": came, "freight": order["shipping"]})
    assert maker.get(f"{address}stock-check/")["short"] == []
    assert "held_beyond_stock" not in {row["kind"] for row in maker.rows("alerts/")}

    # What it really took: one tile fails and is poured again from a tile of the new pack.
    first = poured(maker, coasters, 8, 7, {"base": "220 mL", "colours": "1/2 cup", "activator": 12})
    again = poured(maker, coasters, 1, 1, {"base": "2 tbsp", "colours": 15, "activator": 3})
    big = poured(maker, canvas, 1, 1, {"base": "1 1/2 cups", "colours": 70, "activator": 5})
    for pour in (first, again):
        resin = {"kit": ids["kit"], "mixed_ml": 18 * pour["good_count"], "minutes": 15, **WITH}
        maker.post(f"pours/{pour['number']}/topcoats/", resin)
    assert maker.get("record/scores/")["overall"]["count"] == 9

    # Packed, sold through a channel with fees.
    pieces = [row["id"] for row in maker.rows("pieces/", loose="true", line=coasters["id"])]
    for some in (pieces[:4], pieces[4:]):
        maker.post("sets/", {"line": coasters["id"], "pieces": some, "minutes": 6, **WITH})
    maker.post("sets/", {"line": canvas["id"], "pieces": big["pieces"], **WITH})
    assert maker.get(address)["status"] == "ready"
    assert maker.rows("holds/") == []
    agreed = maker.rows(f"{address}sale-prices/")
    sale = maker.post(
        "sales/",
        {
            "channel": ids["fair"],
            "commission": number,
            "items": [{"set": row["set"], "price": row["price"]} for row in agreed],
            "shipping_charged": "10.80",
            "shipping_paid": "9.15",
            **WITH,
        },
    )
    # 5 % of the goods, whose prices are the quote's total less its 10.00 of shipping with 8 % tax.
    goods = sum(D(row["price"]) for row in agreed)
    assert goods == D(quote["gross"]) - D("10.80")
    assert D(sale["fees"]) == (goods * D("0.05") + D("0.30")).quantize(D("0.01"))

    # What each coaster set earned, from what the bottles really cost.
    rows = maker.rows("profit/")
    sets = [row for row in rows if row["size"] == "Tile 10 cm"]
    assert len(rows) == 3 and len(sets) == 2
    for row in rows:
        sums = {name: D(amount) for name, amount in row["sums"].items() if amount is not None}
        gone = ("tax", "fees", "materials", "labour", "overhead")
        assert sums["profit"] == sums["revenue"] - sum(sums[name] for name in gone)
        assert sums["materials"] > 0 and sums["labour"] > 0
    [total] = maker.get("profit/total/")["totals"]
    assert D(total["sums"]["profit"]) == sum(D(row["sums"]["profit"]) for row in rows)
    by_size = maker.rows("profit/cuts/", by="size")
    assert {row["label"]: row["sets"] for row in by_size} == {"Tile 10 cm": 2, "Canvas 8 in": 1}
    # Materials sold are what left the shelf, and the postage.
    taken = sum(
        D(move["value"])
        for entry in maker.rows("entries/", page_size=200)
        for move in entry["movements"]
        if move["kind"] in ("use", "reclaim")
    )
    assert D(total["sums"]["materials"]) == -taken + D("9.15")
    assert maker.get(address)["status"] == "paid"
    steps = [event["status"] for event in maker.get(address)["events"]]
    assert steps == ["enquiry", "quoted", "accepted", "in_work", "ready", "delivered", "paid"]
    call_command("check_books", stdout=StringIO())
