"""What common practice alone estimates, beside the trade's own facts. Common practice, no source.

The facts are told in spoons and cups, and a tablespoon may be 15 or 20 mL: each is good to ± 25 %.
"""

import pytest

from pricing.estimating import coverage, surfaces

IN_MM = 25.4
FL_OZ_ML = 29.5735295625  # NIST Handbook 44, appendix C
TBSP_ML, CUP_ML = FL_OZ_ML / 2, 8 * FL_OZ_ML
ORDINARY = ("flip-cup", "straight-pour", "ring-pour")

# Inches; sold by the inch in these sizes.
SIZES_IN = [
    (4, 4), (4.25, 4.25), (5, 7), (6, 6), (8, 8), (8, 10), (9, 12), (10, 10), (10, 20), (11, 14),
    (12, 12), (12, 16), (12, 24), (16, 20), (18, 24), (20, 20), (20, 24), (24, 24), (24, 30),
    (24, 36), (30, 40), (36, 36), (36, 48),
]  # fmt: skip  # a table of sizes


def piece(width_in, height_in, depth_in=0.0):
    return surfaces.rectangle(width_in * IN_MM, height_in * IN_MM, depth_in * IN_MM)


TILE = piece(4, 4, 0.25)
CANVAS = piece(8, 8, 1.5)


@pytest.fixture(scope="module")
def practice():
    return coverage.Estimator(coverage.common_practice())


def test_every_built_in_observation_says_what_it_rests_on():
    rows = coverage.common_practice()

    assert {(row.technique, row.layer) for row in rows} == {
        (technique, layer) for technique, layers in coverage.LAYERS_OF.items() for layer in layers
    }
    assert all("common practice, no source" in row.label for row in rows)
    assert not any(row.own for row in rows)
    assert len({row.key for row in rows}) == len(rows)


@pytest.mark.parametrize(
    ("layer", "tablespoons"),
    [
        ("base", (1.5, 1.5)),
        ("colours", (0.5, 1.0)),
    ],
)
def test_a_bloom_on_a_4_in_tile(practice, layer, tablespoons):
    forecast = practice.forecast("bloom", layer, TILE.wetted_area_mm2)

    least, most = (amount * TBSP_ML for amount in tablespoons)
    assert 0.75 * least < forecast.median < 1.25 * most
    assert not forecast.outside_measured
    if least == most:
        assert forecast.low < least < forecast.high


def test_a_bloom_on_an_8_in_canvas(practice):
    layers = practice.forecasts("bloom", CANVAS.wetted_area_mm2)

    assert sum(one.median for one in layers.values()) == pytest.approx(2 * CUP_ML, rel=0.25)
    assert 0.75 * 4 * TBSP_ML < layers["colours"].median < 1.25 * 5 * TBSP_ML
    assert not any(one.outside_measured for one in layers.values())


@pytest.mark.parametrize(("surface", "across_in"), [(TILE, 1), (CANVAS, 2)])
def test_the_activator_is_a_puddle_so_far_across(practice, surface, across_in):
    # A puddle is 1 to 2 mm high: 2 lc sin(θ/2), P.-G. de Gennes, F. Brochard-Wyart and D. Quéré,
    # "Capillarity and Wetting Phenomena" (2004), chapter 2, for paint wetting at 30 to 40 degrees.
    disc_mm2 = surfaces.circle(across_in * IN_MM).top_area_mm2

    activator = practice.forecast("bloom", "activator", surface.wetted_area_mm2).median

    assert 0.75 * 0.9 < activator * 1000 / disc_mm2 < 1.25 * 2.0


@pytest.mark.parametrize("technique", ORDINARY)
@pytest.mark.parametrize(("width_in", "height_in"), SIZES_IN)
def test_an_ordinary_pour_takes_an_ounce_for_24_to_26_square_inches(
    practice, technique, width_in, height_in
):
    face = piece(width_in, height_in)

    layers = practice.forecasts(technique, face.wetted_area_mm2)

    total_oz = sum(one.median for one in layers.values()) / FL_OZ_ML
    assert 24 < width_in * height_in / total_oz < 26


def test_the_ring_pour_that_somebody_measured(practice):
    # A 10 × 20 in board: 6 fl oz of colours and 2 fl oz of base.
    layers = practice.forecasts("ring-pour", piece(10, 20).wetted_area_mm2)

    assert layers["colours"].median == pytest.approx(6 * FL_OZ_ML, rel=0.25)
    assert layers["base"].median == pytest.approx(2 * FL_OZ_ML, rel=0.25)


@pytest.mark.parametrize("depth_in", [0.0, 0.75, 1.5])
@pytest.mark.parametrize(("width_in", "height_in"), SIZES_IN)
def test_a_swipe_takes_a_good_deal_less_base_than_a_bloom(practice, width_in, height_in, depth_in):
    area_mm2 = piece(width_in, height_in, depth_in).wetted_area_mm2

    swipe = practice.forecast("swipe", "base", area_mm2).median
    bloom = practice.forecast("bloom", "base", area_mm2).median

    assert swipe < 0.75 * bloom


def test_paint_does_not_scale_with_area(practice):
    # From tile to canvas: four times the face, five and a half times what is wetted, and a bloom's
    # two cups are fourteen times its two and a quarter tablespoons.
    area = CANVAS.wetted_area_mm2 / TILE.wetted_area_mm2

    def ratio(technique):
        tile, canvas = (
            sum(one.median for one in practice.forecasts(technique, of.wetted_area_mm2).values())
            for of in (TILE, CANVAS)
        )
        return canvas / tile

    assert 5.5 < area < 5.7
    assert ratio("bloom") > 1.9 * area
    assert ratio("bloom") == pytest.approx(2 * CUP_ML / (2.25 * TBSP_ML), rel=0.25)
    assert ratio("flip-cup") == pytest.approx(area, rel=0.05)


@pytest.mark.parametrize("technique", coverage.TECHNIQUES)
def test_corners_and_deep_sides_take_markedly_more(practice, technique):
    # 1½ in deep, an 8 × 8 in canvas has three quarters of its face again in its sides.
    flat, deep = (
        sum(
            one.median
            for one in practice.forecasts(technique, piece(8, 8, depth).wetted_area_mm2).values()
        )
        for depth in (0, 1.5)
    )

    assert deep > 1.6 * flat


@pytest.mark.parametrize("technique", coverage.TECHNIQUES)
def test_more_is_mixed_than_is_poured(practice, technique):
    for forecast in practice.forecasts(technique, TILE.wetted_area_mm2, 4).values():
        poured = forecast.median
        assert coverage.to_mix(forecast, cup_loss=0.05) > forecast.high > poured
        assert coverage.to_mix(forecast) == forecast.high
        assert coverage.to_mix(forecast, 0.5, 0.05) == pytest.approx(poured / 0.95)


def test_run_off_is_large_on_a_bloom_and_never_everything():
    for technique in coverage.TECHNIQUES:
        shares = coverage.learn_fractions(technique)
        assert 0.4 <= shares.on_piece < 0.82  # at 1 fl oz on 25 in² at least 18 % must run off
        assert coverage.learn_fractions("bloom").kept >= shares.kept
