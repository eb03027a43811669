from decimal import Decimal as D

import pytest

from pricing.bench import pours
from pricing.bench.pours import LayerLog
from pricing.estimating.estimates import common_estimate, estimate, estimate_commission
from pricing.estimating.learning import estimator_for
from pricing.estimating.resins import Topcoat
from pricing.estimating.sizes import geometry, get_or_make_surface, read_surface
from pricing.models import Technique
from studio.errors import StudioError
from studio.units import round_up_to_measure
from tests.factories.bench import working_studio
from tests.factories.inventory import MaterialFactory, RecipePartFactory
from tests.pricing.test_commissions import add_tiles, opened
from tests.pricing.test_pours import log

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
    """At 90 % the high end is enough for the pour; a twentieth more stays in the cup."""
    for layer in tiles(bench).layers:
        least = layer.high_ml / (1 - D("0.05"))
        assert layer.to_mix_ml >= least - D("0.001")
        assert layer.to_mix_ml == pytest.approx(round_up_to_measure(least, "us")[0], abs=D("0.001"))


def test_materials_follow_the_recipes(bench):
    """Of the base nine parts in ten are white, of the activator three in four."""
    found = tiles(bench, palette=bench.palette)

    base, colours, activator = found.layers
    used = base.median_ml / D("0.95")
    assert base.materials[bench.white].median == pytest.approx(used * D("0.9"), abs=D("0.001"))
    assert base.materials[bench.water].median == pytest.approx(used * D("0.1"), abs=D("0.001"))
    assert activator.materials[bench.white].to_mix == pytest.approx(
        activator.to_mix_ml * D("0.75"), abs=D("0.001")
    )
    for case, volume in (("median", colours.median_ml / D("0.95")), ("to_mix", colours.to_mix_ml)):
        parts = [getattr(need, case) for need in colours.materials.values()]
        assert sum(parts) == pytest.approx(volume, abs=D("0.001"))
    assert colours.materials[bench.gold].to_mix == pytest.approx(
        colours.to_mix_ml / 3, abs=D("0.001")
    )


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
    assert coat.materials[bench.resin].median == coat.materials[bench.hardener].median == 46
    assert coat.to_mix_ml >= 92


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
    assert found.needs[bench.canvas].median == 1
    assert found.needs[bench.box].high == 2
    for material in (bench.white, bench.gold):
        parts = [one.piece.materials[material].median for one in found.lines]
        assert found.needs[material].median == sum(parts)
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


def test_a_layer_its_technique_does_not_have_teaches_nothing(bench):
    flip = Technique.objects.get(studio=bench.studio, slug="flip-cup")
    before = estimate(bench.studio, bench.tile_size, "flip-cup")

    log(bench, technique=flip, layers={"activator": LayerLog(D(8))})

    assert estimate(bench.studio, bench.tile_size, "flip-cup") == before


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
