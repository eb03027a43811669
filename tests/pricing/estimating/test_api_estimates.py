"""Estimates through the API: by size or surface, with palette and topcoat, and why."""

from decimal import Decimal as D

import pytest

from tests.conftest import member
from tests.factories.bench import working_studio

ESTIMATES = "/api/v1/estimates/"


@pytest.fixture
def bench(db):
    return working_studio()


@pytest.fixture
def viewer(bench):
    return member(bench.studio, "viewer")


def layers(answer):
    return {row["layer"]: row for row in answer.data["layers"]}


def test_a_size_takes_what_makers_say_it_takes(viewer):
    """Common practice, no source: a 4 in tile takes about 1½ tbsp of base and ½ to 1 of colours.

    The tablespoon may be 15 or 20 mL, so each is taken as ± 25 %.
    """
    answer = viewer.api.post(ESTIMATES, {"size": "4 x 4 x 1/4 in", "technique": "bloom"})

    found = layers(answer)
    assert answer.status_code == 200
    assert 0.75 * 22.2 <= float(found["base"]["median_ml"]) <= 1.25 * 22.2
    assert 0.75 * 7.4 <= float(found["colours"]["median_ml"]) <= 1.25 * 14.8
    for row in found.values():
        assert D(row["low_ml"]) < D(row["median_ml"]) < D(row["high_ml"])
        assert D(row["to_mix_ml"]) > D(row["median_ml"])
    assert answer.data["surface"]["top_area_mm2"] == pytest.approx(101.6**2)


def test_a_size_and_the_surface_of_that_size_are_estimated_alike(viewer, bench):
    body = {"technique": "swipe", "count": 3}

    by_size = viewer.api.post(ESTIMATES, {**body, "size": "100 x 100 x 6 mm"})
    by_surface = viewer.api.post(ESTIMATES, {**body, "surface": bench.tile_size.pk})

    assert by_size.data["layers"] == by_surface.data["layers"]
    assert by_size.data["count"] == 3


def test_a_palette_turns_layers_into_mixes_and_materials(viewer, bench):
    answer = viewer.api.post(
        ESTIMATES,
        {
            "surface": bench.canvas_size.pk,
            "technique": "bloom",
            "palette": bench.palette.pk,
            "topcoat": bench.kit.pk,
        },
    )

    found = layers(answer)
    mixes = {row["name"]: D(row["to_mix_ml"]) for row in found["colours"]["mixes"]}
    # Two parts of blue to one of gold, all of what is mixed of the colours.
    assert sum(mixes.values()) == D(found["colours"]["to_mix_ml"])
    assert float(mixes["blue_mix"]) == pytest.approx(2 * float(mixes["gold_mix"]), abs=0.2)
    totals = {row["material"]["name"]: row for row in answer.data["materials"]}
    assert set(totals) == {"white", "water", "blue", "gold", "resin", "hardener"}
    base = {row["material"]["name"]: D(row["to_mix"]) for row in found["base"]["materials"]}
    # Nine parts of white to one of water.
    assert float(base["white"]) == pytest.approx(9 * float(base["water"]), rel=1e-3)
    assert D(totals["resin"]["used"]) == D(totals["hardener"]["used"])


def test_every_layer_says_which_pours_it_rests_on(viewer):
    answer = viewer.api.post(ESTIMATES, {"size": "8 x 8 x 1.5 in", "technique": "bloom"})

    why = answer.data["why"]
    assert {row["layer"] for row in why} == set(layers(answer))
    assert all(row["label"] and 0 < row["share"] <= 1 for row in why)


def test_advice_comes_with_its_number_and_source(viewer):
    answer = viewer.api.post(ESTIMATES, {"size": "8 x 8 x 1.5 in", "technique": "bloom"})

    assert answer.data["advice"]
    for one in answer.data["advice"]:
        assert one["sentence"] and one["source"]
        assert one["severity"] in ("fine", "note", "caution", "stop")
    cautions = [
        one["sentence"] for one in answer.data["advice"] if one["severity"] in ("caution", "stop")
    ]
    assert sorted(answer.data["warnings"]) == sorted(cautions)


def test_a_size_far_from_any_pour_is_marked(viewer):
    near, far = (
        viewer.api.post(ESTIMATES, {"size": size, "technique": "bloom"}).data["outside_measured"]
        for size in ("8 x 8 x 1.5 in", "60 x 48 x 1.5 in")
    )

    assert (near, far) == (False, True)


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"technique": "bloom"}, "size"),
        ({"size": "8 x 8 in"}, "technique"),
        ({"size": "8 x 8 in", "technique": "splatter"}, "technique"),
        ({"size": "eight", "technique": "bloom"}, "size"),
        ({"size": "0 x 8 in", "technique": "bloom"}, "size"),
        ({"size": "nan x 8 in", "technique": "bloom"}, "size"),
        ({"size": "inf x 8 in", "technique": "bloom"}, "size"),
        ({"size": "900 x 900 m", "technique": "bloom"}, "size"),
        ({"size": "__import__('os')", "technique": "bloom"}, "size"),
        ({"size": "8 x 8 in", "technique": "bloom", "count": 0}, "count"),
        ({"size": "8 x 8 in", "technique": "bloom", "count": 10**9}, "count"),
        ({"size": "8 x 8 in", "technique": "bloom", "palette": 999_999}, "palette"),
        ({"size": "8 x 8 in", "technique": "bloom", "mood": "calm"}, "mood"),
    ],
)
def test_bad_input_is_refused_at_its_field_in_words(viewer, body, field):
    answer = viewer.api.post(ESTIMATES, body)

    assert (answer.status_code, set(answer.data["fields"])) == (400, {field})
    assert len(answer.data["fields"][field][0]) > 15


def test_a_size_or_a_surface_but_not_both(viewer, bench):
    body = {"size": "8 x 8 in", "surface": bench.tile_size.pk, "technique": "bloom"}

    assert viewer.api.post(ESTIMATES, body).status_code == 400


def test_all_paint_together_and_the_base_that_is_told(viewer):
    either, told = (
        viewer.api.post(ESTIMATES, {"size": "12 x 12 in", "technique": "ring-pour", **base}).data
        for base in ({}, {"base": "flooded"})
    )

    assert (either["base"], told["base"]) == ("", "flooded")
    for found in (either, told):
        total = {name: D(found["total"][f"{name}_ml"]) for name in ("low", "median", "high")}
        assert total["low"] < total["median"] < total["high"]
        to_mix = sum(D(row["to_mix_ml"]) for row in found["layers"])
        assert D(found["to_mix_ml"]) == to_mix > total["high"]
    (base,) = (row for row in told["layers"] if row["layer"] == "base")
    assert D(base["low_ml"]) < D("236.6") < D(base["high_ml"])  # 8 fl oz: common practice
    wet = viewer.api.post(ESTIMATES, {"size": "8 in round", "technique": "bloom", "base": "wet"})
    assert wet.status_code == 400


def test_a_large_piece_says_what_to_pour_first(viewer, bench):
    """As the planner does: a size the studio keeps, or else a usual one."""
    large, small = (
        viewer.api.post(ESTIMATES, {"size": size, "technique": "bloom"}).data["narrowing"]
        for size in ("24 x 30 x 1.5 in", "4 x 4 x 0.25 in")
    )

    assert small is None  # nothing is smaller by enough
    assert large["before"] > 2
    assert large["after"] < 0.85 * large["before"]
    words = f"it narrows this from ×{large['before']:.1f} to ×{large['after']:.1f}."
    assert large["sentence"] == f"Pour {large['size']} first: {words}"
    shown = viewer.client.get("/plan/", {"size": "24 x 30 x 1.5 in", "technique": "bloom"})
    assert large["sentence"] in shown.content.decode()
