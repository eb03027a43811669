from dataclasses import replace
from datetime import timedelta
from decimal import Decimal as D

import pytest

from inventory.errors import CannotReverse, StockShortfall
from inventory.models import Entry, Hold, Material
from inventory.stock import holds
from inventory.stock import ledger as stock
from pricing.bench import pours, topcoats
from pricing.bench.pours import LayerLog
from pricing.books import run_off_agrees
from pricing.costing.piece_costs import cost_of_pour
from pricing.errors import PourRefused
from pricing.estimating.estimates import estimate
from pricing.estimating.judgement import judge_topcoat
from pricing.estimating.learning import estimator_for, hand_of, slip_in
from pricing.models import Commission, FinishedPiece, Pour
from studio.rows import NotYours
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.inventory import WorkFactory
from tests.factories.judged import coat_judged, pour_judged
from tests.factories.pricing import SavedSurfaceFactory
from tests.pricing.commissions.test_commissions import accepted

pytestmark = pytest.mark.django_db

# By hand, from tests.factories.bench: base 100 is 90 white (1.80) and water; colours 60 are 40 of
# the blue mix (20 blue 0.80, 20 white 0.40) and 20 gold (1.00); activator 8 is 6 white (0.12) and
# 2 blue (0.08). Four tiles are 2.00.
USED = {"white": D(116), "blue": D(22), "gold": D(20), "tile": D(4)}
COST = D("6.20")


@pytest.fixture
def bench():
    return working_studio()


def log(bench, **more):
    wanted = {
        "surface": bench.tile_size,
        "technique": bench.bloom,
        "palette": bench.palette,
        "count": 4,
        "good_count": 3,
        "minutes": D(40),
        "layers": {
            "base": LayerLog(D(100)),
            "colours": LayerLog(D(60)),
            "activator": LayerLog(D(8)),
        },
        **more,
    }
    return pour_judged(studio=bench.studio, by=None, **wanted)


def shelf(bench):
    return dict(Material.objects.filter(studio=bench.studio).values_list("name", "on_hand"))


def test_a_pour_takes_its_recipes_and_surfaces_in_one_entry(bench):
    before = shelf(bench)

    pour = log(bench)

    after = shelf(bench)
    assert {name: before[name] - after[name] for name in USED} == USED
    assert Entry.objects.filter(studio=bench.studio).last() is not None
    assert {move.entry_id for move in pour.entry.movements.all()} == {pour.entry_id}
    assert -sum(move.value for move in pour.entry.movements.all()) == COST


def test_water_is_not_counted(bench):
    pour = log(bench)

    assert not pour.entry.movements.filter(material=bench.water).exists()


def test_pieces_are_numbered_and_are_as_judged(bench):
    pour = log(bench)

    states = list(pour.pieces.values_list("number", "state"))

    assert states == [(1, "good"), (2, "good"), (3, "good"), (4, "failed")]


def test_run_off_is_kept_as_a_bottle_worth_nothing(bench):
    log(bench, layers={"base": LayerLog(D(100), left_ml=D(5), kept_ml=D(30))})

    reclaimed = Material.objects.get(studio=bench.studio, name="Reclaimed paint")
    bottle = reclaimed.bottles.get()
    assert (bottle.remaining, bottle.value, reclaimed.kind) == (30, 0, "mix")


def test_run_off_may_be_worth_the_base_it_replaces():
    """30 mL of base are 27 white at 0.02, so 0.54, and the pour costs that much less."""
    bench = working_studio(run_off_value="base")

    pour = log(bench, layers={"base": LayerLog(D(100), kept_ml=D(30))})

    bottle = bench.studio.bottles.get(material__kind="mix")
    assert bottle.value == D("0.54")
    assert cost_of_pour(pour).materials == D("1.80") + D("2.00") - D("0.54")


def test_a_layer_keeps_what_it_took_and_the_books_prove_its_run_off():
    """100 mL of base are 90 white at 0.02, so 1.80; of that 30 mL are 0.54, and no more."""
    bench = working_studio(run_off_value="base")
    pour = log(bench, layers={"base": LayerLog(D(100), kept_ml=D(30))})
    layer = pour.layers.get()
    assert layer.took_value == D("1.80")
    assert list(run_off_agrees(bench.studio)) == []

    pour.layers.update(kept_ml=D("29.999"))
    [dearer] = run_off_agrees(bench.studio)
    pour.layers.update(kept_ml=D(30), took_value=D("1.79"))
    [less] = run_off_agrees(bench.studio)
    pour.layers.update(took_value=None)

    assert dearer.sentence == (
        "its run-off is worth 0.540000, more than its share of what was taken."
    )
    assert less.sentence == (
        "its layers took 1.790000, and 1.800000 of paint was used and its run-off is worth "
        "0.540000, more than its share of what was taken."
    )
    assert list(run_off_agrees(bench.studio)) == []


def test_reclaimed_paint_goes_into_a_later_base_coat(bench):
    log(bench, layers={"base": LayerLog(D(100), kept_ml=D(30))})
    before = shelf(bench)

    log(bench, layers={"base": LayerLog(D(80), reclaimed_ml=D(30))})

    after = shelf(bench)
    assert after["Reclaimed paint"] == 0
    assert before["white"] - after["white"] == 45


def test_the_forecast_is_stored_as_it_was_before_the_pour(bench):
    before = estimate(bench.studio, bench.tile_size, "bloom", 4).layer("base")

    pour = log(bench)

    layer = pour.layers.get(layer="base")
    assert (layer.forecast_low_ml, layer.forecast_median_ml, layer.forecast_high_ml) == (
        before.low_ml,
        before.median_ml,
        before.high_ml,
    )


def test_the_next_estimate_has_learnt(bench):
    before = estimate(bench.studio, bench.tile_size, "bloom", 4).layer("base").median_ml

    log(bench, layers={"base": LayerLog(before * D("1.5"))})

    assert estimate(bench.studio, bench.tile_size, "bloom", 4).layer("base").median_ml > before


def test_a_pour_set_aside_teaches_nothing(bench):
    before = estimate(bench.studio, bench.tile_size, "bloom", 4)
    pour = log(bench, layers={"base": LayerLog(D(190))})

    pours.set_pour_aside(pour=pour, why="Spilled a cup")

    assert estimate(bench.studio, bench.tile_size, "bloom", 4) == before
    pours.set_pour_aside(pour=pour, why="")
    assert estimate(bench.studio, bench.tile_size, "bloom", 4) != before


def test_what_is_short_is_named_and_nothing_is_stored(bench):
    before = shelf(bench)

    with pytest.raises(StockShortfall, match=r"gold is 1500 mL short.*tile is 80 short"):
        log(bench, count=100, good_count=100, layers={"colours": LayerLog(D(6000))})

    assert shelf(bench) == before
    assert not Pour.objects.exists()
    assert log(bench).number == 1


@pytest.mark.parametrize(
    "more, sentence",
    [
        ({"layers": {}}, "at least one layer"),
        ({"layers": {"base": LayerLog(D(0))}}, "at least one layer"),
        ({"count": 0, "good_count": 0}, "1 to 200 pieces"),
        ({"minutes": D(-1)}, "Minutes cannot be below zero"),
        ({"layers": {"base": LayerLog(D(10), left_ml=D(10))}}, "Less of the base coat must"),
        (
            {"layers": {"base": LayerLog(D(10), kept_ml=D(11))}},
            "More base coat was kept as",
        ),
        ({"layers": {"base": LayerLog(D(10), left_ml=D(-1))}}, "cannot be below zero"),
        ({"layers": {"base": LayerLog(D(10), reclaimed_ml=D(11))}}, "More reclaimed paint went"),
    ],
)
def test_a_pour_that_cannot_have_gone_so_is_refused(bench, more, sentence):
    with pytest.raises(PourRefused, match=sentence):
        log(bench, **more)

    assert not Pour.objects.exists()


def test_a_palette_without_an_activator_cannot_have_used_one(bench):
    bench.palette.activator = None
    bench.palette.save()

    with pytest.raises(PourRefused, match="has no cell activator"):
        log(bench)


def test_another_studios_surface_is_not_found(bench):
    with pytest.raises(NotYours):
        log(bench, surface=SavedSurfaceFactory())


def test_a_customers_own_surface_takes_nothing_from_the_shelf(bench):
    bench.tile_size.material = None
    bench.tile_size.save()
    before = shelf(bench)["tile"]

    log(bench)

    assert shelf(bench)["tile"] == before


def test_a_pour_for_a_commission_draws_down_what_was_held_for_it(bench):
    commission = accepted(bench)
    line = commission.lines.get()
    tile = Hold.objects.get(material=bench.tile)

    log(bench, line=line, surface=None, technique=None, palette=None)

    tile.refresh_from_db()
    # Eight were held, four poured, three came out well: five are still to be poured.
    assert (tile.used, tile.outstanding) == (4, 5)
    commission.refresh_from_db()
    assert commission.status == Commission.Status.IN_WORK


def test_what_is_held_for_other_work_is_left_alone(bench):
    holds.hold(work=WorkFactory(studio=bench.studio), label="Other work", needs={bench.tile: D(18)})

    with pytest.raises(StockShortfall, match="18 is promised to Other work"):
        log(bench)


def test_undoing_a_pour_puts_everything_back(bench):
    before, value = shelf(bench), bench.white.value
    commission = accepted(bench)
    held = dict(Hold.objects.open().values_list("material", "quantity"))
    pour = log(bench, line=commission.lines.get())

    pours.undo_pour(pour=pour, by=None, why="Logged twice")

    assert {name: shelf(bench)[name] for name in before} == before
    assert set(pour.pieces.values_list("state", flat=True)) == {"undone"}
    assert not Pour.objects.standing().exists()
    outstanding = {hold.material_id: hold.outstanding for hold in Hold.objects.open()}
    assert outstanding == held
    commission.refresh_from_db()
    assert commission.status == Commission.Status.ACCEPTED
    bench.white.refresh_from_db()
    assert bench.white.value >= value


def test_undoing_the_entry_from_the_ledger_undoes_the_pour_too(bench):
    pour = log(bench)

    stock.reverse(studio=bench.studio, by=None, entry=pour.entry, why="Wrong day")

    assert set(pour.pieces.values_list("state", flat=True)) == {"undone"}


def test_a_pour_is_undone_once(bench):
    pour = log(bench)
    pours.undo_pour(pour=pour, by=None, why="Mistake")

    with pytest.raises(CannotReverse, match="was undone already"):
        pours.undo_pour(pour=pour, by=None, why="Again")


def test_a_pour_whose_run_off_was_used_cannot_be_undone(bench):
    pour = log(bench, layers={"base": LayerLog(D(100), kept_ml=D(30))})
    log(bench, layers={"base": LayerLog(D(80), reclaimed_ml=D(30))})

    with pytest.raises(CannotReverse, match="has been used since"):
        pours.undo_pour(pour=pour, by=None, why="Mistake")

    assert pour.pieces.filter(state="good").count() == 3


def test_a_topcoat_takes_both_parts_by_the_kits_ratio(bench):
    bench.kit.ratio_a = D(2)
    bench.kit.save()
    pour = log(bench)

    coat = going_on.log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(90), minutes=D(15))

    taken = {move.material.name: -move.quantity for move in coat.entry.movements.all()}
    assert taken == {"resin": 60, "hardener": 30}
    assert cost_of_pour(pour).materials == COST + 90 * D("0.06")


def test_pieces_spoiled_by_resin_fail_and_come_back_when_it_is_undone(bench):
    pour = log(bench)
    coat = coat_judged(
        pour=pour, by=None, kit=bench.kit, mixed_ml=D(60), minutes=D(15), spoiled_count=1
    )
    assert pour.pieces.filter(state="good").count() == 2

    with pytest.raises(PourRefused, match="Undo the topcoat first"):
        pours.undo_pour(pour=pour, by=None, why="Mistake")
    topcoats.undo_topcoat(coat=coat, by=None, why="Wrong kit")

    assert pour.pieces.filter(state="good").count() == 3
    assert shelf(bench)["resin"] == 500


def test_what_failed_is_not_coated(bench):
    with pytest.raises(PourRefused, match="has no loose good pieces to coat"):
        going_on.log_topcoat(pour=log(bench, good_count=0), by=None, kit=bench.kit, mixed_ml=D(60))


def test_a_pour_whose_pieces_are_packed_cannot_be_undone(bench):
    pour = log(bench)
    good = FinishedPiece.objects.filter(pour=pour, state="good")
    going_on.pack_set(studio=bench.studio, by=None, name="Three tiles", pieces=good)

    with pytest.raises(PourRefused, match="Unpack the set first"):
        pours.undo_pour(pour=pour, by=None, why="Mistake")


def test_a_layer_that_its_technique_does_not_have_is_refused(bench):
    flip = bench.studio.techniques.get(slug="flip-cup")

    with pytest.raises(PourRefused, match="A flip cup has no cell activator"):
        log(bench, technique=flip)
    with pytest.raises(PourRefused, match="A bloom has one kind of base only"):
        log(bench, base="thin")

    assert not Pour.objects.exists()


def far_off(bench):
    """Three like pours, and one of ten times as much base."""
    for _ in range(3):
        log(bench, layers={"base": LayerLog(D(100)), "colours": LayerLog(D(50))})
    return log(bench, layers={"base": LayerLog(D(1000)), "colours": LayerLog(D(50))})


def test_a_pour_far_off_is_asked_about_until_it_is_answered(bench):
    pour = far_off(bench)
    before = estimator_for(bench.studio).forecast("bloom", "base", 1e4).median

    asked = [slip_in(one, hand_of(bench.studio)) for one in bench.studio.pours.order_by("number")]
    pours.confirm_amounts(pour=pour)
    pour.refresh_from_db()

    assert asked == [False, False, False, True]
    assert not slip_in(pour, hand_of(bench.studio))
    # It is believed now, and moves the next estimate as a pour of its weight does.
    assert estimator_for(bench.studio).forecast("bloom", "base", 1e4).median > 1.3 * before


def test_a_slip_set_aside_is_not_asked_about_again(bench):
    pour = far_off(bench)

    pours.set_pour_aside(pour=pour, why="Spilled")
    pour.refresh_from_db()

    assert not slip_in(pour, hand_of(bench.studio))


def test_advice_that_rests_on_run_off_says_so_while_that_is_a_guess(bench):
    pour = log(bench)
    few = hand_of(bench.studio)
    many = replace(few, kept={bench.bloom.slug: ((0.2, 0.1),) * 10})

    told = [judge_topcoat(pour, hand, pour.poured_at)[0].source for hand in (few, many)]

    assert told[0] == f"{told[1]}; how much ran off is our guess, no source"


def test_reclaimed_paint_carries_its_day_its_weight_its_colours_and_silicone(bench):
    """Base of nine white to one water at 1.1 and 1 g/mL: 1.09. Colours all at 1.1: of 30 mL of base
    and 10 of colours (32.7 + 11) / 40 = 1.0925 g/mL. Thinned, it keeps 30 days: our guess."""
    type(bench.blue).objects.filter(pk=bench.blue.pk).update(has_silicone=True)
    layers = {
        "base": LayerLog(D(100), kept_ml=D(30)),
        "colours": LayerLog(D(60), kept_ml=D(10)),
    }

    pour = log(bench, layers=layers)

    pot = bench.studio.bottles.get(material__name="Reclaimed paint")
    assert pot.density_g_per_ml == D("1.0925")
    assert pot.expires_on == bench.studio.today() + timedelta(days=30)
    assert set(pot.colours.split(", ")) == {"base", "blue_mix", "gold_mix"}
    assert pot.has_silicone and pour.entry_id == pot.movements.get().entry_id


def test_reclaimed_paint_keeps_no_longer_than_what_went_into_it(bench):
    ends = bench.studio.today() + timedelta(days=9)
    bench.studio.bottles.filter(material=bench.white).update(expires_on=ends)

    log(bench, layers={"base": LayerLog(D(100), kept_ml=D(30))})

    pot = bench.studio.bottles.get(material__name="Reclaimed paint")
    assert (pot.expires_on, pot.density_g_per_ml, pot.colours) == (ends, D("1.09"), "base")
