"""What common practice alone estimates, beside the trade's own facts. Common practice, no source.

The facts are told in spoons and cups, and a tablespoon may be 15 or 20 mL: each is good to ± 25 %.
"""

from math import hypot, log

import pytest

from pricing.estimating import coverage, surfaces

IN_MM = 25.4
FL_OZ_ML = 29.5735295625  # NIST Handbook 44, appendix C
TBSP_ML, CUP_ML = FL_OZ_ML / 2, 8 * FL_OZ_ML
# Poured without more base than is needed.
ORDINARY = [("straight-pour", ""), ("ring-pour", "thin"), ("flip-cup", "thin")]

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


def job(practice, technique, of, base="", count=1):
    """What pieces take: of a plain surface."""
    share = of.side_area_mm2 / of.wetted_area_mm2
    return practice.job([coverage.Line(technique, of.wetted_area_mm2, count, share, base)])


def test_every_built_in_observation_says_what_it_rests_on():
    rows = coverage.common_practice()

    assert {(row.technique, row.layer) for row in rows} == {
        (technique, layer) for technique, layers in coverage.LAYERS_OF.items() for layer in layers
    }
    assert all("common practice, no source" in row.label for row in rows)
    assert not any(row.own for row in rows)
    assert len({row.key for row in rows}) == len(rows)


def test_facts_without_a_source_are_good_to_35_percent_and_a_rule_counts_once():
    shared = coverage.Settings().rule_sd

    for row in coverage.common_practice():
        own = shared if row.rule else 0.0
        assert hypot(own, row.noise) > log(1.35)
    # However many sizes a rule is written out for, their mean is no surer than its error.
    ounces = [row for row in coverage.common_practice() if row.rule == "ounce"]
    assert len({row.size for row in ounces}) >= 4


@pytest.mark.parametrize(
    ("layer", "tablespoons"),
    [
        ("base", (1.5, 1.5)),
        ("colours", (0.5, 1.0)),
    ],
)
def test_a_bloom_on_a_4_in_tile(practice, layer, tablespoons):
    forecast = job(practice, "bloom", TILE).layer(layer)

    least, most = (amount * TBSP_ML for amount in tablespoons)
    assert 0.75 * least < forecast.median < 1.25 * most
    assert not forecast.outside_measured
    if least == most:
        assert forecast.low < least < forecast.high


def test_a_bloom_on_an_8_in_canvas(practice):
    bloom = job(practice, "bloom", CANVAS)
    layers = bloom.forecasts()

    assert bloom.total().median == pytest.approx(2 * CUP_ML, rel=0.25)
    assert 0.75 * 4 * TBSP_ML < layers["colours"].median < 1.25 * 5 * TBSP_ML
    assert not any(one.outside_measured for one in layers.values())


@pytest.mark.parametrize(("depth_in", "least_ml", "most_ml"), [(0.75, 118, 125), (1.5, 177, 188)])
def test_the_base_of_a_bloom_on_a_6_in_canvas(practice, depth_in, least_ml, most_ml):
    # About half a cup, and about three quarters of one.
    layers = job(practice, "bloom", piece(6, 6, depth_in)).forecasts()

    assert 0.85 * most_ml < layers["base"].median < 1.15 * least_ml
    assert 15 < layers["colours"].median < 40  # 1 to 2 tbsp


@pytest.mark.parametrize(("surface", "across_in"), [(TILE, 1), (CANVAS, 2)])
def test_the_activator_is_a_puddle_so_far_across(practice, surface, across_in):
    # A puddle is 1 to 2 mm high: 2 lc sin(θ/2), P.-G. de Gennes, F. Brochard-Wyart and D. Quéré,
    # "Capillarity and Wetting Phenomena" (2004), chapter 2, for paint wetting at 30 to 40 degrees.
    disc_mm2 = surfaces.circle(across_in * IN_MM).top_area_mm2

    activator = job(practice, "bloom", surface).layer("activator").median

    assert 0.75 * 0.9 < activator * 1000 / disc_mm2 < 1.25 * 2.0


@pytest.mark.parametrize(("technique", "base"), ORDINARY)
@pytest.mark.parametrize(("width_in", "height_in"), SIZES_IN)
def test_an_ordinary_pour_takes_an_ounce_for_24_to_26_square_inches(
    practice, technique, base, width_in, height_in
):
    face = piece(width_in, height_in)

    total_oz = job(practice, technique, face, base).total().median / FL_OZ_ML

    # A flip cup of 24 × 30 in is told to take no more than an ounce for 36.
    most = 36 if technique == "flip-cup" else 26.5
    assert 24 < width_in * height_in / total_oz < most


def test_a_flip_cup_on_a_24_by_30_in_canvas(practice):
    total = job(practice, "flip-cup", piece(24, 30), "thin").total()

    assert total.median == pytest.approx(20 * FL_OZ_ML, rel=0.25)


def test_the_ring_pour_that_somebody_measured(practice):
    # A 10 × 20 in board: 6 fl oz of colours and 2 fl oz of base.
    layers = job(practice, "ring-pour", piece(10, 20), "thin").forecasts()

    assert layers["colours"].median == pytest.approx(6 * FL_OZ_ML, rel=0.25)
    assert layers["base"].median == pytest.approx(2 * FL_OZ_ML, rel=0.25)


@pytest.mark.parametrize(
    ("width_in", "height_in", "base_oz"), [(12, 12, 8), (24, 24, 16), (36, 48, 48)]
)
@pytest.mark.parametrize("told", ["flooded", ""])
def test_ring_pours_over_a_flooded_base(practice, width_in, height_in, base_oz, told):
    base = job(practice, "ring-pour", piece(width_in, height_in), told).layer("base")

    assert base.low < base_oz * FL_OZ_ML < base.high
    if told:
        assert base.median == pytest.approx(base_oz * FL_OZ_ML, rel=0.25)


@pytest.mark.parametrize("technique", ["ring-pour", "flip-cup"])
def test_a_base_that_is_not_told_may_be_either(practice, technique):
    face = piece(12, 12)
    thin, flooded, either = (
        job(practice, technique, face, base).layer("base") for base in ("thin", "flooded", "")
    )

    assert 3 * thin.median < flooded.median
    assert thin.median < either.median < flooded.median
    assert either.low < thin.median and either.high > flooded.median


@pytest.mark.parametrize("depth_in", [0.0, 0.75, 1.5])
@pytest.mark.parametrize(("width_in", "height_in"), SIZES_IN)
def test_a_swipe_takes_a_good_deal_less_base_than_a_bloom(practice, width_in, height_in, depth_in):
    of = piece(width_in, height_in, depth_in)

    swipe, bloom = (job(practice, name, of).layer("base").median for name in ("swipe", "bloom"))

    assert swipe < 0.75 * bloom


def test_paint_does_not_scale_with_area(practice):
    # From tile to canvas: four times the face, five and a half times what is wetted, and a bloom's
    # two cups are fourteen times its two and a quarter tablespoons.
    area = CANVAS.wetted_area_mm2 / TILE.wetted_area_mm2

    def ratio(technique):
        tile, canvas = (job(practice, technique, of).total().median for of in (TILE, CANVAS))
        return canvas / tile

    assert 5.5 < area < 5.7
    assert ratio("bloom") > 1.9 * area
    assert ratio("bloom") == pytest.approx(2 * CUP_ML / (2.25 * TBSP_ML), rel=0.25)
    # Sides, three sevenths of the canvas and a fifth of the tile, hold a thinner film, and so do
    # larger pieces: more than the faces alone say, less than all that is wetted.
    assert 4 < ratio("flip-cup") < area


@pytest.mark.parametrize("technique", coverage.TECHNIQUES)
def test_corners_and_deep_sides_take_markedly_more(practice, technique):
    # 1½ in deep, an 8 × 8 in canvas has three quarters of its face again in its sides.
    flat, deep = (job(practice, technique, piece(8, 8, depth)).total().median for depth in (0, 1.5))

    assert deep > 1.5 * flat


@pytest.mark.parametrize("technique", coverage.TECHNIQUES)
def test_more_is_mixed_than_is_poured(practice, technique):
    pours = job(practice, technique, TILE, count=4)
    chance = pours.enough(0.9)

    for forecast in pours.forecasts().values():
        enough = forecast.quantile(chance)
        assert enough > forecast.high > forecast.median  # each of several cups must suffice
        assert coverage.with_cup_loss(enough, 0.05) == pytest.approx(enough / 0.95)
    assert pours.enough(0.5) > 0.5


def test_run_off_is_large_on_a_bloom_and_never_everything():
    for technique in coverage.TECHNIQUES:
        shares = coverage.learn_fractions(technique)
        assert 0.4 <= shares.on_piece < 0.82  # at 1 fl oz on 25 in² at least 18 % must run off
        assert coverage.learn_fractions("bloom").kept >= shares.kept
