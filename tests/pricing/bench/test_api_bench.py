"""The bench and the shop through the API: pours, topcoats, sets, sales, profit, the record."""

from decimal import Decimal as D

import pytest

from inventory.models import Entry, Movement
from pricing.models import FinishedPiece, PieceSet, Pour, Sale, Topcoating
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.going_on import WITH

API = "/api/v1/"


@pytest.fixture
def bench(db):
    return working_studio()


@pytest.fixture
def maker(bench):
    return member(bench.studio, "maker", sees_costs=True)


def post(person, path, body=None, key=""):
    headers = {"Idempotency-Key": key} if key else {}
    return person.api.post(f"{API}{path}", body or {}, headers=headers)


@pytest.fixture
def body(bench):
    """Four tiles: 100 mL of base, 60 of colours, 8 of activator."""
    return {
        "surface": bench.tile_size.pk,
        "technique": "bloom",
        "palette": bench.palette.pk,
        "count": 4,
        "poured_at": "2026-03-01T09:00:00Z",
        "minutes": "30",
        "layers": [
            {"layer": "base", "mixed_ml": "100", "left_ml": 0, "kept_ml": "20 mL"},
            {"layer": "colours", "mixed_ml": 60},
            {"layer": "activator", "mixed_ml": "8"},
        ],
    }


@pytest.fixture
def pour(maker, body):
    """Of the four tiles, the last failed."""
    number = post(maker, "pours/", body).data["number"]
    seen = [{"piece": one, "verdict": "good"} for one in (1, 2, 3)]
    seen.append({"piece": 4, "verdict": "failed", "faults": ["bare_corner"]})
    return post(maker, f"pours/{number}/judge/", {"pieces": seen}).data


def taken(entry):
    """Return {material: quantity} of an entry, as text."""
    return {
        row["material"]["name"]: row["quantity"].rstrip("0").rstrip(".")
        for row in entry["movements"]
    }


def test_a_pour_takes_what_its_recipes_say_in_one_entry(maker, pour):
    entry = maker.api.get(f"{API}entries/{pour['entry']}/").data

    # Base is 9:1 of white and water, the blue mix half white, the activator 3:1 of white and blue.
    assert taken(entry) == {
        "white": "-116",  # 90 + 20 + 6
        "blue": "-22",  # 20 + 2
        "gold": "-20",
        "tile": "-4",
        "Reclaimed paint": "20",
    }
    assert entry["purpose"] == f"Pour {pour['number']}"
    # 116 x 0.02 + 22 x 0.04 + 20 x 0.05 + 4 x 0.50, and half an hour at 18.00 and 6.00.
    spent = pour["spent"]
    assert (spent["materials"], spent["labour"], spent["overhead"]) == (
        "6.200000",
        "9.000000",
        "3.000000",
    )
    assert len(pour["pieces"]) == 4
    assert {row["layer"] for row in pour["layers"]} == {"base", "colours", "activator"}
    assert all(D(row["forecast_median_ml"]) > 0 for row in pour["layers"])


def test_amounts_are_read_in_the_studios_measures(maker, body):
    body["layers"] = [{"layer": "base", "mixed_ml": "1/2 cup"}]

    answer = post(maker, "pours/", body)

    # Half a US cup of 236.588 mL.
    assert answer.data["layers"][0]["mixed_ml"] == "118.294"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"surface": None}, "surface"),
        ({"technique": "splatter"}, "technique"),
        ({"count": 0}, "count"),
        ({"minutes": "-1"}, "minutes"),
        ({"minutes": "2000"}, "minutes"),
        ({"layers": []}, "layers"),
        ({"layers": [{"layer": "varnish", "mixed_ml": "5"}]}, "layers.0.layer"),
        ({"layers": [{"layer": "base", "mixed_ml": "some"}]}, "layers.0.mixed_ml"),
        ({"layers": [{"layer": "base", "mixed_ml": "0"}]}, "layers.0.mixed_ml"),
        ({"layers": [{"layer": "base", "mixed_ml": "5"}] * 2}, "layers"),
        ({"poured_at": "yesterday"}, "poured_at"),
        ({"layers": [{"layer": "base", "mixed_ml": "5", "mood": "calm"}]}, "layers.0.mood"),
    ],
)
def test_a_pour_that_cannot_be_is_refused_at_its_field(maker, body, change, field):
    before = Entry.objects.count()

    answer = post(maker, "pours/", {**body, **change})

    assert (answer.status_code, list(answer.data["fields"])) == (400, [field])
    assert (Pour.objects.count(), Entry.objects.count()) == (0, before)


def test_a_pour_names_its_line_or_what_it_is(maker, body):
    for name in ("surface", "technique", "palette"):
        body.pop(name)

    answer = post(maker, "pours/", body)

    assert (answer.status_code, set(answer.data["fields"])) == (
        400,
        {"surface", "technique", "palette"},
    )


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"layers": [{"layer": "base", "mixed_ml": "50", "left_ml": "60"}]}, "pour_refused"),
        ({"layers": [{"layer": "base", "mixed_ml": "50 L"}]}, "stock_shortfall"),
        ({"count": 30}, "stock_shortfall"),
    ],
)
def test_a_pour_refused_leaves_nothing_behind(maker, body, change, code):
    before = Entry.objects.count()

    answer = post(maker, "pours/", {**body, **change})

    assert (answer.status_code, answer.data["code"]) == (409, code)
    assert (Pour.objects.count(), Entry.objects.count()) == (0, before)


def test_a_pour_is_set_aside_and_taken_back_in(maker, pour):
    aside = post(maker, f"pours/{pour['number']}/set-aside/", {"why": "spilled a cup"})
    none = maker.api.get(f"{API}record/").data["count"]
    back = post(maker, f"pours/{pour['number']}/set-aside/", {"why": ""})

    assert (aside.data["set_aside"], none) == ("spilled a cup", 0)
    assert back.data["set_aside"] == ""
    assert maker.api.get(f"{API}record/").data["count"] == 3


def test_a_pour_far_off_is_asked_about_and_both_answers_are_taken(maker, body):
    for _ in range(3):
        post(maker, "pours/", {**body, "layers": [{"layer": "base", "mixed_ml": "100"}]})
    far = {**body, "layers": [{"layer": "base", "mixed_ml": "1200"}]}
    slip = post(maker, "pours/", far).data

    sure = post(maker, f"pours/{slip['number']}/confirm/").data

    assert (slip["looks_like_a_slip"], slip["amounts_are_right"]) == (True, False)
    assert (sure["looks_like_a_slip"], sure["amounts_are_right"]) == (False, True)


def test_the_base_of_a_ring_pour_is_kept_and_a_strange_one_refused(maker, body):
    ring = {**body, "technique": "ring-pour", "base": "flooded"}
    ring["layers"] = [one for one in body["layers"] if one["layer"] != "activator"]

    kept = post(maker, "pours/", ring)
    strange = post(maker, "pours/", {**ring, "base": "wet"})
    refused = post(maker, "pours/", {**body, "base": "thin"})

    assert (kept.status_code, kept.data["base"]) == (201, "flooded")
    assert strange.status_code == 400
    assert (refused.status_code, refused.data["code"]) == (409, "pour_refused")


def test_a_pour_is_undone_and_all_is_back(maker, pour):
    undone = post(maker, f"pours/{pour['number']}/undo/", {"why": "logged twice"})

    assert undone.data["undone_by"] is not None
    assert undone.data["spent"]["materials"] == "0.000000"
    white = maker.api.get(f"{API}materials/?search=white").data["results"][0]
    assert white["on_hand"] == "2000.0000"
    assert maker.api.get(f"{API}pieces/?loose=true").data["count"] == 0


def test_a_topcoat_takes_both_parts_and_is_undone(maker, bench, pour):
    body = {"kit": bench.kit.pk, "mixed_ml": "60", "minutes": 10, **WITH}

    made = post(maker, f"pours/{pour['number']}/topcoats/", body)
    dented = {"piece": 2, "verdict": "failed", "faults": ["dent"], "note": "A sleeve"}
    post(maker, f"pours/{pour['number']}/judge/", {"pieces": [dented]})
    entry = maker.api.get(f"{API}entries/{made.data['entry']}/").data
    loose = maker.api.get(f"{API}pieces/?loose=true").data["count"]
    undone = post(
        maker, f"pours/{pour['number']}/topcoats/{made.data['id']}/undo/", {"why": "mistaken"}
    )

    assert made.status_code == 201
    assert taken(entry) == {"resin": "-30", "hardener": "-30"}
    assert loose == 2
    assert undone.data["undone_by"] is not None
    assert maker.api.get(f"{API}pieces/?loose=true").data["count"] == 3


def test_pours_are_listed_by_commission_and_in_order(maker, body, pour):
    later = post(maker, "pours/", body).data

    def numbers(asked):
        rows = maker.api.get(f"{API}pours/?{asked}").data["results"]
        return [row["number"] for row in rows]

    assert numbers("sort=number") == [pour["number"], later["number"]]
    assert numbers("sort=-number") == [later["number"], pour["number"]]
    assert numbers("commission=1") == []


def test_an_act_on_a_pour_that_has_changed_is_refused(maker, pour):
    address = f"{API}pours/{pour['number']}/set-aside/"
    read = maker.api.get(f"{API}pours/{pour['number']}/")

    first, second = (
        maker.api.post(address, {"why": why}, headers={"If-Match": read["ETag"]})
        for why in ("spilled a cup", "too cold")
    )

    assert (first.status_code, first.data["set_aside"]) == (200, "spilled a cup")
    assert (second.status_code, second.data["code"]) == (412, "changed_meanwhile")
    assert maker.api.get(f"{API}pours/{pour['number']}/").data["set_aside"] == "spilled a cup"


def test_a_topcoat_of_another_pour_is_not_there(maker, bench, body, pour):
    other = post(maker, "pours/", body).data
    coat = post(
        maker, f"pours/{pour['number']}/topcoats/", {"kit": bench.kit.pk, "mixed_ml": "9", **WITH}
    ).data

    answer = post(maker, f"pours/{other['number']}/topcoats/{coat['id']}/undo/", {"why": "x"})

    assert answer.status_code == 404


@pytest.fixture
def packed(maker, bench, pour):
    pieces = [row["id"] for row in maker.api.get(f"{API}pieces/?loose=true").data["results"]]
    body = {"name": "Three tides", "pieces": pieces, "packaging": bench.box.pk, "minutes": "5"}
    return post(maker, "sets/", body | WITH | {"made_on": "2026-03-01"}).data


def test_a_set_carries_the_cost_of_its_pieces_and_box(maker, pour, packed):
    # 6.20 of materials over the three that lived, and a box of 1.20; 35 minutes of work.
    assert packed["spent"] == {
        "materials": "7.400000",
        "labour": "10.500000",
        "overhead": "3.500000",
        "total": "21.400000",
        "minutes": "35.00",
    }
    assert (len(packed["pieces"]), packed["is_sold"]) == (3, False)
    assert maker.api.get(f"{API}sets/{packed['number']}/").data == packed
    assert maker.api.get(f"{API}sets/?for_sale=true").data["results"] == [packed]


def test_a_set_is_taken_apart_and_its_box_is_back(maker, packed):
    answer = post(maker, f"sets/{packed['number']}/unpack/", {"why": "one chipped"})

    assert answer.data["unpacked_at"] is not None
    assert maker.api.get(f"{API}sets/").data["count"] == 0
    assert maker.api.get(f"{API}materials/?search=box").data["results"][0]["on_hand"] == "10.0000"


def test_pieces_in_a_set_are_not_packed_again(maker, packed):
    answer = post(maker, "sets/", {"pieces": packed["pieces"][:1]})
    none = post(maker, "sets/", {"pieces": []})

    assert (answer.status_code, answer.data["code"]) == (409, "set_refused")
    assert (none.status_code, set(none.data["fields"])) == (400, {"pieces"})


@pytest.fixture
def sale(maker, bench, packed):
    owner = member(bench.studio, "owner")
    market = {"name": "Market", "percent_fee": "0.10", "fixed_fee": "0.50"}
    channel = post(owner, "channels/", market).data["id"]
    return post(
        maker,
        "sales/",
        {
            "channel": channel,
            "sold_on": "2026-03-02",
            "items": [{"set": packed["number"], "price": "55"}],
            "shipping_charged": "5.50",
            "shipping_paid": 4,
            **WITH,
        },
    ).data


def test_a_sale_keeps_its_fees_and_the_profit_adds_up(maker, packed, sale):
    row = maker.api.get(f"{API}profit/").data["results"][0]
    cuts = {
        by: maker.api.get(f"{API}profit/cuts/?by={by}").data["results"]
        for by in ("size", "technique", "channel", "month")
    }
    total = maker.api.get(f"{API}profit/total/").data

    # 10 % of 55.00 and 0.50; 60.50 holds 5.50 of tax at 10 %.
    assert sale["fees"] == "6.000"
    sums = {name: D(amount) for name, amount in row["sums"].items()}
    assert (sums["revenue"], sums["tax"], sums["fees"]) == (D("60.5"), D("5.5"), D(6))
    # 60.50 - 5.50 - 6.00 - (7.40 + 4.00 of postage) - 10.50 - 3.50
    assert sums["profit"] == D("23.6")
    assert sums["margin"] == (D("23.6") / 55).quantize(D("0.0001"))
    assert sums["per_hour"] == (D("23.6") * 60 / 35).quantize(D("0.001"))
    assert {by: [one["label"] for one in rows] for by, rows in cuts.items()} == {
        "size": ["Tile 10 × 10 cm"],
        "technique": ["Bloom"],
        "channel": ["Market"],
        "month": ["2026-03"],
    }
    assert all(rows[0]["sums"] == row["sums"] for rows in cuts.values())
    [in_all] = total["totals"]
    assert in_all["sums"] == row["sums"]
    assert total["whereabouts"]["sold"]["total"] == packed["spent"]["total"]
    # What the ledger lost is what was sold, since nothing else was made.
    assert D(total["whereabouts"]["total"]["materials"]) == -sum(
        move.value for move in Movement.objects.exclude(kind="opening")
    )


def test_a_cut_that_is_none_is_refused_at_its_field(maker):
    answer = maker.api.get(f"{API}profit/cuts/?by=mood")

    assert (answer.status_code, set(answer.data["fields"])) == (400, {"by"})


def test_a_set_is_sold_once_and_refunded_once(maker, packed, sale):
    item = {"channel": sale["channel"]["id"], "items": [{"set": packed["number"], "price": "1"}]}
    again = post(maker, "sales/", item)
    refunded = post(
        maker, f"sales/{sale['number']}/refund/", {"why": "cracked", "fees_kept": "0.50"}
    )
    twice = post(maker, f"sales/{sale['number']}/refund/", {"why": "cracked"})

    assert (again.status_code, again.data["code"]) == (409, "sale_refused")
    assert (refunded.data["fees_kept"], refunded.data["refund_note"]) == ("0.500", "cracked")
    assert [line["is_live"] for line in refunded.data["lines"]] == [False]
    assert (twice.status_code, twice.data["code"]) == (409, "sale_refused")
    assert maker.api.get(f"{API}sets/?for_sale=true").data["count"] == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"channel": None}, "channel"),
        ({"items": []}, "items"),
        ({"items": [{"set": 999, "price": "1"}]}, "items.0.set"),
        ({"items": [{"set": 1, "price": "-1"}]}, "items.0.price"),
        ({"items": [{"set": 1, "price": "1e400"}]}, "items.0.price"),
        ({"sold_on": "monday"}, "sold_on"),
    ],
)
def test_a_sale_that_cannot_be_is_refused_at_its_field(maker, bench, packed, change, field):
    item = {"set": packed["number"], "price": "5"}
    body = {"channel": bench.own_sale.pk, "items": [item], **change}

    answer = post(maker, "sales/", body)

    assert (answer.status_code, set(answer.data["fields"])) == (400, {field})
    assert not Sale.objects.exists()


def test_the_record_shows_forecasts_beside_what_was_poured(maker, pour):
    rows = maker.api.get(f"{API}record/").data["results"]
    scores = maker.api.get(f"{API}record/scores/").data
    nonsense = maker.api.get(f"{API}record/?last=few")
    unknown = maker.api.get(f"{API}record/?first=3")

    base = next(row for row in rows if row["layer"] == "base")
    forecast = next(row for row in pour["layers"] if row["layer"] == "base")
    assert (base["poured_ml"], base["pour"]) == ("100.000", pour["number"])
    assert base["median_ml"] == forecast["forecast_median_ml"]
    assert base["inside"] == (D(base["low_ml"]) <= 100 <= D(base["high_ml"]))
    assert scores["overall"]["count"] == 3
    assert set(scores["by_technique"]) == {"bloom"}
    assert (nonsense.status_code, set(nonsense.data["fields"])) == (400, {"last"})
    assert (unknown.status_code, set(unknown.data["fields"])) == (400, {"first"})


def test_the_record_of_more_pours_than_there_are_is_of_all(maker, body, pour):
    post(maker, "pours/", body)

    counts = {
        last: maker.api.get(f"{API}record/?last={last}").data["count"] for last in (0, 1, 2, 3, 9)
    }

    assert counts == {0: 0, 1: 3, 2: 6, 3: 6, 9: 6}


def test_one_key_pours_coats_packs_sells_and_refunds_once(maker, bench, body):
    def twice(path, sent, key):
        first, second = (post(maker, path, sent, key=key) for _ in range(2))
        assert (first.status_code, first.json()) == (second.status_code, second.json())
        assert first.status_code in (200, 201)
        return first.json()

    pour = twice("pours/", body, "k1")
    twice(
        f"pours/{pour['number']}/topcoats/", {"kit": bench.kit.pk, "mixed_ml": "60", **WITH}, "k2"
    )
    made = twice("sets/", {"pieces": pour["pieces"][:3], **WITH}, "k3")
    items = [{"set": made["number"], "price": "40"}]
    sale = twice("sales/", {"channel": bench.own_sale.pk, "items": items, **WITH}, "k4")
    twice(f"sales/{sale['number']}/refund/", {"why": "cracked"}, "k5")
    twice(f"sets/{made['number']}/unpack/", {"why": "mended"}, "k6")

    counts = [model.objects.count() for model in (Pour, Topcoating, PieceSet, Sale, FinishedPiece)]
    assert counts == [1, 1, 1, 1, 4]
