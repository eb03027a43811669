import json
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from pricing.techniques import TECHNIQUES
from studio.units import MEASURES, parse_volume

ROOT = Path(__file__).parents[3]


def run(size, **options):
    out, err = StringIO(), StringIO()
    code = 0
    try:
        call_command("estimate", size, **{"technique": "bloom", **options}, stdout=out, stderr=err)
    except SystemExit as stopped:
        code = stopped.code
    return code, out.getvalue(), err.getvalue()


def answer(size, **options):
    code, out, _ = run(size, json=True, **options)
    assert code == 0
    return json.loads(out)


def by_layer(found):
    return {layer["layer"]: layer for layer in found["layers"]}


def test_json_has_the_shape_that_programs_read():
    found = answer("8x8x1.5in")

    assert list(found) == [
        "surface",
        "technique",
        "count",
        "base",
        "layers",
        "total",
        "narrowing",
        "outside_measured",
        "warnings",
    ]
    # 64 in² of face and 48 in² of sides, at 645.16 mm² each.
    assert found["surface"] == {"top_area_mm2": 64 * 645.16, "side_area_mm2": 48 * 645.16}
    assert (found["technique"], found["count"], found["outside_measured"]) == ("bloom", 1, False)
    assert [layer["layer"] for layer in found["layers"]] == ["base", "colours", "activator"]
    for layer in found["layers"]:
        amounts = ["low_ml", "median_ml", "high_ml", "measure", "to_mix_ml", "mix_measure"]
        assert list(layer) == ["layer", *amounts]
        assert 0 < layer["low_ml"] < layer["median_ml"] < layer["high_ml"] < layer["to_mix_ml"]


def test_a_bloom_on_a_tile_is_as_the_trade_does_it():
    """Common practice, no source: base about 1½ tbsp, colours ½ to 1 tbsp; each within 25 %."""
    tbsp = float(MEASURES["us"].tbsp_ml)

    layers = by_layer(answer("4x4x0.25in"))

    assert layers["base"]["median_ml"] == pytest.approx(1.5 * tbsp, rel=0.25)
    assert 0.5 * tbsp * 0.75 <= layers["colours"]["median_ml"] <= tbsp * 1.25


def test_a_bloom_on_a_canvas_is_as_the_trade_does_it():
    """Common practice, no source: about 2 cups in all, colours 4 to 5 tbsp; each within 25 %."""
    us = MEASURES["us"]

    layers = by_layer(answer("8x8x1.5in"))

    total = sum(layer["median_ml"] for layer in layers.values())
    assert total == pytest.approx(2 * float(us.cup_ml), rel=0.25)
    tbsp = float(us.tbsp_ml)
    assert 4 * tbsp * 0.75 <= layers["colours"]["median_ml"] <= 5 * tbsp * 1.25


def test_a_swipe_takes_a_good_deal_less_base_than_a_bloom():
    bloom, swipe = (by_layer(answer("8x8x1.5in", technique=name)) for name in ("bloom", "swipe"))

    assert swipe["base"]["median_ml"] < 0.7 * bloom["base"]["median_ml"]


@pytest.mark.parametrize("technique", [facts.slug for facts in TECHNIQUES])
def test_every_technique_can_be_asked_for(technique):
    assert answer("10x10cm", technique=technique)["technique"] == technique


def test_several_pieces_are_estimated_together():
    one, four = answer("10x10cm"), answer("10x10cm", count="4")

    assert four["count"] == 4
    for single, several in zip(one["layers"], four["layers"], strict=True):
        assert several["median_ml"] == pytest.approx(4 * single["median_ml"], rel=0.02)
        spread = several["high_ml"] / several["median_ml"]
        assert spread < single["high_ml"] / single["median_ml"]


def test_a_topcoat_is_added_when_its_film_is_given():
    """1.6 mm on a face of 100 cm² is 16 mL; makers of resin publish 10 to 20 % lost, 15 % usual."""
    layers = by_layer(answer("10x10cm", topcoat="1.6"))

    coat = layers["topcoat"]
    assert [coat[name] for name in ("low_ml", "median_ml", "high_ml")] == [
        pytest.approx(16 * share, abs=0.001) for share in (1.1, 1.15, 1.2)
    ]


def test_measures_are_those_asked_for():
    us, au = answer("4x4x0.25in"), answer("4x4x0.25in", measures="au")

    base_us, base_au = us["layers"][0], au["layers"][0]
    assert base_us["median_ml"] == base_au["median_ml"]
    assert base_us["measure"] != base_au["measure"]
    for base, measures in ((base_us, "us"), (base_au, "au")):
        read_back = float(parse_volume(base["measure"], measures))
        assert read_back == pytest.approx(base["median_ml"], rel=0.25)


def test_a_base_is_told_or_both_are_covered():
    """8 fl oz of base flood a 12 × 12 in ring pour: common practice, no source."""
    either, thin, flooded = (
        answer("12x12in", technique="ring-pour", **base)
        for base in ({}, {"base": "thin"}, {"base": "flooded"})
    )
    _, table, _ = run("12x12in", technique="ring-pour")

    assert [found["base"] for found in (either, thin, flooded)] == [
        "thin or flooded",
        "thin",
        "flooded",
    ]
    low, high = (by_layer(flooded)["base"][name] for name in ("low_ml", "high_ml"))
    assert low < 236.6 < high
    assert by_layer(thin)["base"]["median_ml"] < 0.5 * by_layer(flooded)["base"]["median_ml"]
    assert "These cover a thin and a flooded base: say which by --base." in table
    assert answer("8x8in")["base"] == ""


def test_all_paint_is_told_beside_the_layers():
    found = answer("8x8x1.5in")

    total = found["total"]
    assert list(total) == ["low_ml", "median_ml", "high_ml", "measure", "to_mix_ml"]
    assert total["to_mix_ml"] == pytest.approx(sum(one["to_mix_ml"] for one in found["layers"]))
    assert total["low_ml"] < total["median_ml"] < total["high_ml"]
    middles = sum(layer["median_ml"] for layer in found["layers"])
    assert total["median_ml"] == pytest.approx(middles, rel=0.1)
    assert "All paint" in run("8x8x1.5in")[1]


def test_a_large_size_says_what_to_pour_first():
    found, (_, table, _) = answer("24x30in")["narrowing"], run("24x30in")

    assert found["before"] > 2 and found["after"] < 0.85 * found["before"]
    assert f"Pour {found['size']} first: it narrows this from ×{found['before']:.1f} to" in table
    small = answer("4x4x0.25in")["narrowing"]
    assert small is None and "first: it narrows" not in run("4x4x0.25in")[1]


def test_a_size_beyond_what_was_measured_says_so():
    found = answer("2x2m")

    assert found["outside_measured"] is True
    assert any("larger than any measured" in sentence for sentence in found["warnings"])


def test_the_table_is_read_by_a_person():
    _, out, _ = run("8x8x1.5in", count="2")

    assert out.startswith(
        "Bloom, 2 pieces together: each has a face of 413 cm² and sides of 310 cm²"
    )
    assert "Base coat" in out and "To mix" in out and "cups" in out


@pytest.mark.parametrize(
    "size, options, sentence",
    [
        ("huge", {}, "is not a unit or shape known here"),
        ("8x8", {}, "Say which unit it is in"),
        ("0x8in", {}, ""),
        ("-4x4in", {}, ""),
        ("nan x 4 in", {}, ""),
        ("1e9x1e9in", {}, ""),
        ("8x8in", {"technique": "dunk"}, "There is no technique “dunk”; give one of bloom"),
        ("8x8in", {"measures": "roman"}, "There is no set of measures “roman”; give one of us"),
        ("8x8in", {"base": "wet"}, "There is no base “wet”; give one of thin, flooded"),
        ("8x8in", {"base": "thin"}, "A bloom has no “thin” base. Leave the base out"),
        ("8x8in", {"count": "0"}, ""),
        ("8x8in", {"count": "2.5"}, "Items are counted whole"),
        ("8x8in", {"count": "1001"}, "1 to 1,000 pieces"),
        ("8x8in", {"topcoat": "thick"}, "given in millimetres, from 0.1 to 50"),
        ("8x8in", {"topcoat": "nan"}, "given in millimetres, from 0.1 to 50"),
    ],
)
def test_what_cannot_be_read_is_one_sentence_and_nothing_else(size, options, sentence):
    code, out, err = run(size, **{"json": True, **options})

    assert code == 2
    assert out == ""
    assert sentence in err
    assert err.count("\n") == 1 and err.rstrip().endswith((".", "oval"))


def test_it_works_from_a_terminal_without_a_database(tmp_path):
    environment = {
        "SECRET_KEY": "for-this-test-only-and-long-enough-to-be-a-key-of-its-own",
        "DATABASE_URL": f"sqlite:///{tmp_path / 'none.sqlite3'}",
        "PATH": "",
    }

    done = subprocess.run(
        [sys.executable, "manage.py", "estimate", "4 in round", "--technique", "swipe", "--json"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )

    assert json.loads(done.stdout)["technique"] == "swipe"
    assert done.stderr == ""
    assert not (tmp_path / "none.sqlite3").exists()
