from decimal import Decimal as D

import pytest

from pricing.bench import pours
from pricing.bench.mixing_sheets import commission_sheet
from pricing.bench.pours import LayerLog
from pricing.estimating.estimates import common_estimate, estimate, estimate_commission
from pricing.estimating.layers import line_of
from pricing.estimating.learning import estimator_for
from pricing.estimating.resins import Topcoat
from pricing.estimating.sizes import geometry, get_or_make_surface, read_surface
from pricing.models import Technique
from studio.errors import StudioError
from studio.units import round_up_to_measure
from tests.factories.bench import working_studio
from tests.factories.inventory import MaterialFactory, RecipePartFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.bench.test_pours_from_mixes import mix
from tests.pricing.commissions.test_commissions import add_tiles, opened

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def tiles(bench, count=4, **more):
    return estimate(bench.studio, bench.tile_size, "bloom", count, **more)


def test_a_new_studio_starts_from_common_practice(bench):
    own = tiles(bench, 1)

    common = common_estimate(geometry(bench.tile_size), "bloom")

    assert [layer.median_ml for layer in own.layers] == [layer.median_ml for layer in common.layers]


def test_what_to_mix_covers_the_chosen_confidence_and_the_cups(bench):
    """At 90 % all cups of the pour are enough together; a twentieth more stays in the cups."""
    four = line_of(geometry(bench.tile_size), "bloom", 4)
    job = estimator_for(bench.studio).job([four])
    for layer in tiles(bench).layers:
        enough = D(job.layer(layer.layer).quantile(job.enough(0.9)))
        least = enough / (1 - D("0.05"))
        assert enough > layer.high_ml  # each of three cups must be, so more than nine in ten
        assert layer.needed_ml == pytest.approx(least, abs=D("0.001"))
        # A measure, and then a tenth of a millilitre.
        measured, _ = round_up_to_measure(least, "us", layer.least_ml)
        assert 0 <= layer.to_mix_ml - measured <= D("0.101")
        assert D("0.98") * least - D("0.001") <= layer.least_ml < least
        assert layer.to_mix_ml * 10 % 1 == 0


def test_materials_follow_the_recipes(bench):
    """Of the base nine parts in ten are white, of the activator three in four."""
    found = tiles(bench, palette=bench.palette)

    base, colours, activator = found.layers
    assert base.materials[bench.white].to_mix == base.to_mix_ml * D("0.9")
    assert base.materials[bench.water].to_mix == base.to_mix_ml * D("0.1")
    assert activator.materials[bench.white].to_mix == pytest.approx(
        activator.to_mix_ml * D("0.75"), abs=D("0.001")
    )
    assert sum(need.to_mix for need in colours.materials.values()) == colours.to_mix_ml
    assert colours.materials[bench.gold].to_mix == pytest.approx(
        colours.to_mix_ml / 3, abs=D("0.1")
    )


def test_all_that_is_mixed_is_used_up_until_the_logs_say_that_some_is_kept(bench):
    for layer in tiles(bench, palette=bench.palette).layers:
        assert layer.spent.saved == 0
        assert all(need.used == need.to_mix for need in layer.materials.values())
        # What is poured is no more than the cups let go, and more than half of pours take.
        assert layer.median_ml * D("0.95") < layer.spent.poured < layer.to_mix_ml * D("0.95")


def test_what_is_poured_out_of_bottles_leaves_the_rest_in_them(bench):
    """After nine pours out of bottles nine twelfths of what is left over is kept."""
    for _ in range(9):
        bottle = mix(bench, bench.base, 130)
        layers = {"base": LayerLog(D(120), D(5), mixes=((bottle, D(120)),))}
        log(bench, count=1, good_count=1, layers=layers)

    base, colours, _ = tiles(bench, palette=bench.palette).layers

    over = base.to_mix_ml - base.spent.poured / D("0.95")
    assert base.spent.saved == (over * D("0.75")).quantize(D("0.001"))
    assert colours.spent.saved == 0
    white = base.materials[bench.white]
    share = base.spent.used / base.to_mix_ml
    assert white.used == (white.to_mix * share).quantize(D("0.0001"))


def test_lines_of_one_palette_share_their_cups(bench):
    """What is needed of both is added up and then rounded up, as the mixing sheet says it."""
    commission = opened(bench)
    add_tiles(bench, commission)
    add_tiles(bench, commission, surface=bench.canvas_size, quantity=1, pieces_each=1)

    tiles_line, canvas_line = estimate_commission(commission).lines

    for cup in commission_sheet(bench.studio, [commission]).cups:
        parts = [
            one.to_mix_ml
            for line in (tiles_line, canvas_line)
            for layer in line.piece.layers
            for one in layer.mixes
            if one.name == cup.recipe.name
        ]
        assert len(parts) == 2
        assert abs(sum(parts) - cup.volume_ml) <= D("0.1")
    for both in zip(tiles_line.piece.layers, canvas_line.piece.layers, strict=True):
        needed, least, to_mix = (
            sum(getattr(layer, name) for layer in both)
            for name in ("needed_ml", "least_ml", "to_mix_ml")
        )
        assert 0 <= to_mix - round_up_to_measure(needed, "us", least)[0] <= D("0.101")


def test_mixes_of_a_layer_add_up_to_it(bench):
    for layer in tiles(bench, palette=bench.palette).layers:
        assert sum(mix.to_mix_ml for mix in layer.mixes) == layer.to_mix_ml


def test_a_colour_too_small_to_drizzle_is_raised_and_said_so(bench):
    bench.palette.colours.filter(recipe=bench.gold_mix).update(parts=D("0.01"))

    colours = tiles(bench, 1, palette=bench.palette).layer("colours")

    assert {mix.name: mix.to_mix_ml for mix in colours.mixes}["gold_mix"] == 5
    assert colours.note


def test_a_palette_without_an_activator_has_no_such_layer(bench):
    bench.palette.activator = None

    layers = tiles(bench, palette=bench.palette).layers

    assert [layer.layer for layer in layers] == ["base", "colours"]


def test_resin_is_film_times_face_and_the_kits_loss(bench):
    """2 mm on four faces of 100 cm² is 80 mL, and with 15 % lost 92 mL, half of it each part."""
    coat = tiles(bench, topcoat=Topcoat(bench.kit, D(2))).layer("topcoat")

    assert coat.median_ml == 92
    assert coat.low_ml == 88 and coat.high_ml == 96
    assert coat.to_mix_ml == 92  # two cups of 46.0
    assert coat.materials[bench.resin].used == coat.materials[bench.hardener].used == 46


def test_silicone_under_resin_is_warned_of(bench):
    oil = MaterialFactory(studio=bench.studio, name="cell oil", has_silicone=True)
    RecipePartFactory(recipe=bench.gold_mix, material=oil, parts=D("0.02"))

    plain = tiles(bench, palette=bench.palette)
    coated = tiles(bench, palette=bench.palette, topcoat=bench.kit)

    assert not any("cell oil" in sentence for sentence in plain.warnings)
    assert any("cell oil" in sentence for sentence in coated.warnings)


def test_a_commissions_needs_are_those_of_its_lines_with_surfaces_and_boxes(bench):
    commission = opened(bench)
    add_tiles(bench, commission, topcoat=bench.kit, packaging=bench.box)
    add_tiles(bench, commission, surface=bench.canvas_size, quantity=1, pieces_each=1)

    found = estimate_commission(commission)

    assert found.needs[bench.tile].to_mix == 8
    assert found.needs[bench.canvas].used == 1
    assert found.needs[bench.box].high == 2
    for material in (bench.white, bench.gold):
        parts = [one.piece.materials[material].used for one in found.lines]
        assert found.needs[material].used == sum(parts)
    staged = [line.by_stage for line in found.lines]
    assert bench.resin in staged[0]["coat"] and not staged[1]["coat"]


@pytest.mark.parametrize("count", (1, 3))
def test_a_commission_is_estimated_in_the_same_queries(bench, count, django_assert_num_queries):
    commission = opened(bench)
    for _ in range(count):
        add_tiles(bench, commission, topcoat=bench.kit)
    estimator_for(bench.studio)

    # lines, colours, steps; pours' state; recipes: parts, materials, recipes
    with django_assert_num_queries(7):
        estimate_commission(commission)


def test_the_estimator_is_kept_while_nothing_changes(bench, django_assert_num_queries):
    first = estimator_for(bench.studio)

    with django_assert_num_queries(1):
        again = estimator_for(bench.studio)

    assert again is first


def test_the_estimator_is_made_anew_after_any_change(bench):
    seen = [estimator_for(bench.studio)]
    pour = log(bench)
    seen.append(estimator_for(bench.studio))
    pours.set_pour_aside(pour=pour, why="Spilled")
    seen.append(estimator_for(bench.studio))
    bench.tile_size.width_mm = D(108)
    bench.tile_size.save()
    seen.append(estimator_for(bench.studio))
    pours.undo_pour(pour=pour, by=None, why="Mistake")
    seen.append(estimator_for(bench.studio))

    assert len({id(one) for one in seen}) == 5


def test_two_studios_learn_apart(bench):
    other = working_studio()
    before = tiles(other)

    log(bench, layers={"base": LayerLog(D(190))})

    assert tiles(other) == before
    assert tiles(bench) != before


def test_all_paint_together_has_a_range_of_its_own(bench):
    found = tiles(bench, palette=bench.palette)

    job = estimator_for(bench.studio).job([line_of(geometry(bench.tile_size), "bloom", 4)])
    total = job.total()
    assert float(found.total.median_ml) == pytest.approx(total.median, abs=0.001)
    layers = [float(layer.median_ml) for layer in found.layers]
    assert sum(layers) < total.median < 1.1 * sum(layers)  # a lognormal's mean is above its median
    # Layers share a hand, so the whole is nearly as wide as one; but their luck is not all one.
    highs, lows = (
        sum(float(getattr(layer, name)) for layer in found.layers) for name in ("high_ml", "low_ml")
    )
    assert float(found.total.high_ml / found.total.low_ml) < highs / lows


def test_a_palette_without_an_activator_counts_none_in_all_paint(bench):
    everything = tiles(bench, palette=bench.palette).total.median_ml
    bench.palette.activator = None

    assert tiles(bench, palette=bench.palette).total.median_ml < everything


def test_a_whole_job_is_enough_nine_times_in_ten_and_needs_more_than_its_lines(bench):
    """One cup a layer for both lines: each cup needs less than both lines' cups, and all must be
    enough together, as the estimator says of the job."""
    commission = opened(bench)
    add_tiles(bench, commission)
    add_tiles(bench, commission, surface=bench.canvas_size, quantity=1, pieces_each=1)

    found = estimate_commission(commission)

    asked = [line_of(one.piece.surface, "bloom", one.piece.count) for one in found.lines]
    job = estimator_for(bench.studio).job(asked)
    cups = {name: [(0, name), (1, name)] for name in ("base", "colours", "activator")}
    chance = job.enough(0.9, list(cups.values()))
    for name, cup in cups.items():
        needed = sum(one.piece.layer(name).needed_ml for one in found.lines)
        assert float(needed) == pytest.approx(job.cup(cup).quantile(chance) / 0.95, abs=0.01)
        alone = sum(
            estimate(bench.studio, one.line.surface, "bloom", one.piece.count).layer(name).needed_ml
            for one in found.lines
        )
        assert needed < alone


@pytest.mark.parametrize("base", ["thin", "flooded"])
def test_a_base_that_is_told_narrows_the_amounts(bench, base):
    either = estimate(bench.studio, bench.tile_size, "ring-pour")
    told = estimate(bench.studio, bench.tile_size, "ring-pour", base=base)

    assert (either.bases, told.bases, told.base) == (("thin", "flooded"), (), base)
    for layer in told.layers:
        both = either.layer(layer.layer)
        assert layer.high_ml / layer.low_ml < both.high_ml / both.low_ml
    with pytest.raises(StudioError, match="has no “thin” base"):
        estimate(bench.studio, bench.tile_size, "bloom", base="thin")


@pytest.mark.parametrize(
    ("base", "colours", "told", "looks"),
    [(90, 30, "", "flooded"), (30, 90, "", "thin"), (90, 30, "thin", "thin")],
)
def test_a_pour_is_over_the_base_that_was_told_or_that_it_looks_like(
    bench, base, colours, told, looks
):
    ring = Technique.objects.get(studio=bench.studio, slug="ring-pour")
    layers = {"base": LayerLog(D(base)), "colours": LayerLog(D(colours))}

    log(bench, technique=ring, layers=layers, base=told)

    one, other = (
        part.chance for part in estimator_for(bench.studio).forecast("ring-pour", "base", 1e4).parts
    )
    assert (one > other) == (looks == "thin")


def test_no_warning_fires_on_what_is_recommended(bench):
    own_advice = {"crazing", "short-of-sides", "thin-colours"}
    for technique in ("bloom", "swipe", "flip-cup", "ring-pour", "blow-out"):
        for size in ("4x4x0.25in", "8x8in", "8x8x1.5in", "12x12x1.5in", "36x48x1.5in"):
            found = common_estimate(read_surface(size), technique)
            assert not own_advice & {one.code for one in found.warned}
            assert "let-run-off" in {one.code for one in found.advice}


def test_sizes_become_surfaces_once(bench):
    first = get_or_make_surface(bench.studio, "4 in round")
    again = get_or_make_surface(bench.studio, "10.16 cm round")
    stocked = get_or_make_surface(bench.studio, "4 in round", material=bench.tile)

    assert first == again != stocked
    assert (first.shape, first.width_mm, first.nominal) == ("circle", D("101.60"), "4 in round")


@pytest.mark.parametrize(
    "text", ["8x8x1.5in", "10 × 10 cm", "4 in round", "150 × 100 mm oval", "6 in hexagon"]
)
def test_a_saved_surface_is_the_surface_of_its_text(bench, text):
    saved = geometry(get_or_make_surface(bench.studio, text))

    assert saved.wetted_area_mm2 == pytest.approx(read_surface(text).wetted_area_mm2, rel=1e-4)


def test_a_size_that_is_none_is_refused_and_nothing_saved(bench):
    with pytest.raises(StudioError, match="write a size such as"):
        get_or_make_surface(bench.studio, "big")

    assert bench.studio.surfaces.count() == 2
