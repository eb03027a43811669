"""What a studio works with, through the API: surfaces, techniques, palettes, kits, channels."""

from decimal import Decimal as D

import pytest
from rest_framework.test import APIClient

from pricing.models import Channel, Palette, SavedSurface
from tests.conftest import member
from tests.factories.bench import working_studio

API = "/api/v1/"


@pytest.fixture
def bench(db):
    return working_studio()


@pytest.fixture
def maker(bench):
    return member(bench.studio, "maker", sees_costs=True)


@pytest.fixture
def owner(bench):
    return member(bench.studio, "owner")


def test_a_surface_is_read_as_a_person_writes_it(maker, bench):
    made = maker.api.post(
        f"{API}surfaces/",
        {
            "name": "Small tile",
            "size": "4 1/4 x 4 1/4 x 1/4 in",
            "nominal": "4 × 4 in",
            "material": bench.tile.pk,
        },
    )
    changed = maker.api.patch(
        f"{API}surfaces/{made.data['id']}/", {"inset_mm": "1/8 in", "sides_painted": "top, left"}
    )

    assert made.status_code == 201
    assert (made.data["width_mm"], made.data["depth_mm"]) == ("107.95", "6.35")
    assert made.data["size"] == "4¼ × 4¼ × ¼ in"
    assert made.data["material"]["name"] == "tile"
    # 1/8 in is 3.175 mm, kept to a hundredth; a tie goes to the even digit.
    assert (changed.data["inset_mm"], changed.data["width_mm"]) == ("3.18", "107.95")
    assert changed.data["sides_painted"] == "top, left"


@pytest.mark.parametrize(
    ("size", "shape", "inner_mm"),
    [
        ("10 cm round", "circle", None),
        ("30 x 20 cm oval", "oval", None),
        ("30 cm ring, 10 cm hole", "ring", "100.00"),
        ("4 in hexagon", "polygon", None),
    ],
)
def test_every_shape_has_a_text(maker, size, shape, inner_mm):
    made = maker.api.post(f"{API}surfaces/", {"name": "New", "size": size}).data
    again = maker.api.post(f"{API}surfaces/", {"name": "Again", "size": made["size"]}).data

    assert (made["shape"], made["inner_mm"]) == (shape, inner_mm)
    assert again["width_mm"] == made["width_mm"]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"size": "10 x 10 cm"}, "name"),
        ({"name": "x"}, "size"),
        ({"name": "x", "size": "big"}, "size"),
        ({"name": "x", "size": "0 x 10 cm"}, "size"),
        ({"name": "x", "size": "-4 x 4 in"}, "size"),
        ({"name": "x", "size": 10}, "size"),
        ({"name": "x", "size": "10 x 10 cm", "sides_painted": "front"}, "size"),
        ({"name": "x", "size": "10 x 10 cm", "inset_mm": "60 mm"}, "size"),
        ({"name": "x", "size": "10 x 10 cm", "outline": "nonsense"}, "size"),
        ({"name": "Tile 10 × 10 cm", "size": "10 x 10 cm"}, "name"),
    ],
)
def test_a_surface_that_cannot_be_is_refused_at_its_field(maker, body, field):
    before = SavedSurface.objects.count()

    answer = maker.api.post(f"{API}surfaces/", body)

    assert (answer.status_code, list(answer.data["fields"])) == (400, [field])
    assert SavedSurface.objects.count() == before


def test_a_surface_measured_anew_moves_the_estimates(maker, bench):
    before = bench.tile_size.changed_at

    maker.api.patch(f"{API}surfaces/{bench.tile_size.pk}/", {"size": "12 x 12 cm"})

    bench.tile_size.refresh_from_db()
    assert bench.tile_size.changed_at > before
    assert bench.tile_size.width_mm == 120


def test_an_owner_corrects_a_technique_and_the_steps_named(owner, maker, bench):
    address = f"{API}techniques/bloom/"
    before = {row["step"]: row for row in owner.api.get(address).data["steps"]}

    changed = owner.api.patch(
        address,
        {
            "success_rate": "0.8",
            "steps": [{"step": "pour", "fixed_minutes": "2", "minutes_each": "7.5"}],
        },
    )
    refused = maker.api.patch(address, {"success_rate": "0.5"})

    assert (changed.data["slug"], changed.data["success_rate"]) == ("bloom", "0.8000")
    steps = {row["step"]: row for row in changed.data["steps"]}
    assert steps.pop("pour") == {
        "step": "pour",
        "name": "",
        "material": None,
        "amount": "0.0000",
        "per": "piece",
        "pieces": "",
        "fixed_minutes": "2.00",
        "minutes_each": "7.50",
    }
    assert steps == {step: row for step, row in before.items() if step != "pour"}
    assert refused.status_code == 403


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"success_rate": "0"}, "success_rate"),
        ({"success_rate": "1.2"}, "success_rate"),
        ({"steps": [{"step": "dance", "fixed_minutes": 1, "minutes_each": 1}]}, "steps.0.step"),
        ({"steps": [{"step": "pour", "fixed_minutes": 1}]}, "steps.0.minutes_each"),
        (
            {"steps": [{"step": "pour", "fixed_minutes": -1, "minutes_each": 1}]},
            "steps.0.fixed_minutes",
        ),
    ],
)
def test_a_technique_that_cannot_be_is_refused_at_its_field(owner, bench, body, field):
    answer = owner.api.patch(f"{API}techniques/bloom/", body)

    assert (answer.status_code, list(answer.data["fields"])) == (400, [field])


def test_a_palette_is_changed_in_part_and_its_colours_together(maker, bench):
    body = {
        "name": "Reef",
        "base": bench.base.pk,
        "colours": [{"recipe": bench.gold_mix.pk, "parts": "3"}, {"recipe": bench.blue_mix.pk}],
    }
    made = maker.api.post(f"{API}palettes/", body)
    address = f"{API}palettes/{made.data['id']}/"
    named = maker.api.patch(address, {"activator": bench.activator.pk})
    changed = maker.api.patch(address, {"colours": body["colours"][1:]})
    nothing = maker.api.patch(address, {"colours": [{"parts": 2}]})

    assert [(row["recipe"]["name"], row["parts"]) for row in made.data["colours"]] == [
        ("gold_mix", "3.000"),
        ("blue_mix", "1.000"),
    ]
    assert made.data["activator"] is None
    assert named.data == made.data | {"activator": changed.data["activator"]}
    assert changed.data["activator"]["name"] == "activator"
    assert [(row["recipe"]["name"], row["parts"]) for row in changed.data["colours"]] == [
        ("blue_mix", "1.000")
    ]
    assert (nothing.status_code, list(nothing.data["fields"])) == (400, ["colours.0.recipe"])


def test_a_palette_that_cannot_be_is_refused_and_nothing_is_kept(maker, bench):
    colour = {"recipe": bench.blue_mix.pk}
    bodies = [
        ({"name": "x", "base": bench.base.pk, "colours": []}, 400),
        ({"name": "x", "base": bench.blue_mix.pk, "colours": [colour]}, 400),
        ({"name": "Tide", "base": bench.base.pk, "colours": [colour]}, 400),
        ({"name": "x", "base": bench.base.pk, "colours": [colour, colour]}, 409),
        ({"name": "x", "base": bench.base.pk, "colours": [{**colour, "parts": "0"}]}, 400),
    ]

    answers = [maker.api.post(f"{API}palettes/", body).status_code for body, _ in bodies]

    assert answers == [status for _, status in bodies]
    assert Palette.objects.count() == 1


def test_a_kit_keeps_what_its_maker_states(maker, bench):
    made = maker.api.post(
        f"{API}resin-kits/",
        {
            "name": "Slow cure",
            "resin": bench.resin.pk,
            "hardener": bench.hardener.pk,
            "ratio_a": "2",
            "ratio_b": "1",
            "basis": "volume",
            "film_mm": "1/16 in",
            "heat_limit_c": "65",
        },
    )
    swapped = maker.api.post(
        f"{API}resin-kits/",
        {"name": "Wrong", "resin": bench.hardener.pk, "hardener": bench.resin.pk},
    )

    assert (made.status_code, made.data["film_mm"], made.data["heat_limit_c"]) == (
        201,
        "1.59",
        "65.0",
    )
    assert (swapped.status_code, set(swapped.data["fields"])) == (400, {"resin", "hardener"})


def test_a_kit_says_how_much_can_still_be_mixed_and_what_the_other_measure_does(maker, bench):
    """2 : 1 by volume: 90 mL take 45 mL, and 15 mL of 60 stay over; 1.13 / 0.97 - 1 = 16.49 %."""
    kit = bench.kit
    type(kit).objects.filter(pk=kit.pk).update(ratio_a=2, ratio_b=1, basis="volume", name="Clear")
    for part, left, density in ((kit.resin, "90", "1.13"), (kit.hardener, "60", "0.97")):
        type(part).objects.filter(pk=part.pk).update(on_hand=left, density_g_per_ml=density)

    told = maker.api.get(f"{API}resin-kits/{kit.pk}/on-hand/").data
    form = maker.client.get(f"/resin-kits/{kit.pk}/edit/").content.decode()
    row = maker.client.get("/resin-kits/").content.decode()

    assert {name: told[name] for name in ("mixable_ml", "short", "over_ml", "hardener_off")} == {
        "mixable_ml": "135.0",
        "short": "A",
        "over_ml": "15.0",
        "hardener_off": "0.1649",
    }
    warning = "Mix Clear 2 : 1 by volume. The same numbers by weight are 16.5 % too much hardener."
    assert told["warning"] == warning
    assert "safety data sheet" in told["cautions"][0]
    for words in (warning, "135 mL", f"{kit.resin} is short", "Before you mix resin"):
        assert words in form
    assert "135 mL can be mixed" in row


def test_a_kit_whose_parts_cannot_be_compared_says_why(maker, bench):
    kit = bench.kit
    type(kit).objects.filter(pk=kit.pk).update(basis="volume")
    type(kit.resin).objects.filter(pk=kit.resin_id).update(unit="g", density_g_per_ml=None)

    told = maker.api.get(f"{API}resin-kits/{kit.pk}/on-hand/").data

    assert (told["mixable_ml"], told["hardener_off"], told["warning"]) == (None, None, "")
    assert told["problem"] == f"Enter the density of {kit.resin}: it is counted in grams."


def test_channels_are_the_owners_and_customers_the_makers(owner, maker):
    channel = {"name": "Fair", "percent_fee": "0.035", "fixed_fee": "0.30", "listing_fee": 0}

    refused = maker.api.post(f"{API}channels/", channel)
    made = owner.api.post(f"{API}channels/", channel)
    customer = maker.api.post(f"{API}customers/", {"name": "Ines", "email": "ines@example.com"})
    bad = maker.api.post(f"{API}customers/", {"name": "Ines", "email": "ines"})

    assert (refused.status_code, made.status_code) == (403, 201)
    assert (made.data["percent_fee"], made.data["fixed_fee"]) == ("0.0350", "0.300")
    assert Channel.objects.get(name="Fair").percent_fee == D("0.035")
    assert customer.status_code == 201
    assert (bad.status_code, set(bad.data["fields"])) == (400, {"email"})


def test_what_nothing_is_asked_or_taken_by_is_refused_by_name(maker):
    asked = maker.api.get(f"{API}palettes/?colour=red")
    sent = maker.api.post(f"{API}customers/", {"name": "Ines", "shoe_size": 38})

    assert (asked.status_code, list(asked.data["fields"])) == (400, ["colour"])
    assert (sent.status_code, list(sent.data["fields"])) == (400, ["shoe_size"])
    assert maker.api.get(f"{API}customers/?search=ines").data["count"] == 0


def test_a_change_says_of_which_version_it_is(maker, bench):
    address = f"{API}customers/{bench.customer.pk}/"
    read = maker.api.get(address)
    bare = APIClient(headers={"Authorization": maker.api._credentials["HTTP_AUTHORIZATION"]})

    unsaid = bare.patch(address, {"name": "Ines"})
    changed = maker.api.patch(address, {"name": "Ines"}, headers={"If-Match": read["ETag"]})
    stale = maker.api.patch(address, {"name": "Ivo"}, headers={"If-Match": read["ETag"]})

    assert (unsaid.status_code, unsaid.data["code"]) == (428, "match_required")
    assert (changed.status_code, changed.data["name"]) == (200, "Ines")
    assert (stale.status_code, stale.data["code"]) == (412, "changed_meanwhile")
    assert maker.api.get(address).data["name"] == "Ines"
