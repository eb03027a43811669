"""Pours from bottles of mix, for stock and for commissions: nothing is taken or promised twice.

By hand, from tests.factories.bench: base is nine parts of white (0.02 an mL) and one of water, so
100 mL are worth 1.80; the blue mix half blue (0.04) and half white, so 0.03 an mL; gold is 0.05.
The palette has two parts of the blue mix to one of gold; a tile is 0.50.
"""

from datetime import timedelta
from decimal import Decimal as D
from fractions import Fraction

import pytest
from django.urls import reverse

from inventory.errors import NotInBottle, StockShortfall
from inventory.models import Material
from inventory.stock import books
from inventory.stock import ledger as stock
from pricing.bench import pours
from pricing.bench.batches import mix_batch, undo_batch
from pricing.bench.mixing_sheets import commission_sheet
from pricing.bench.pours import LayerLog
from pricing.commissions.commission_holds import renew_holds
from pricing.costing.piece_costs import cost_of_pour
from pricing.errors import PourRefused
from pricing.estimating.estimates import estimate_commission
from pricing.estimating.judgement import judge_base
from pricing.estimating.mixing import top_up
from pricing.quoting import quotes as quoting
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.pricing.bench.test_pours import log, shelf
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def mix(bench, recipe, volume_ml, **more):
    batch = mix_batch(studio=bench.studio, by=None, recipe=recipe, volume_ml=D(volume_ml), **more)
    return batch.bottle


def left(bottle):
    bottle.refresh_from_db()
    return bottle.remaining, bottle.value


def taken(pour):
    """Return {material or bottle of mix: what the pour used of it}."""
    return {move.material.name: -move.quantity for move in pour.entry.movements.filter(kind="use")}


def held(bench, commission):
    rows = commission.work.holds.open().select_related("material")
    return {row.material.name: row.outstanding for row in rows if row.outstanding}


def test_what_came_from_a_bottle_is_not_mixed_again(bench):
    bottle = mix(bench, bench.base, 150)

    pour = log(bench, layers={"base": LayerLog(D(100), mixes=((bottle, D(60)),))})

    # 40 mL of base were mixed there and then: 36 of white.
    assert taken(pour) == {"base": 60, "white": 36, "tile": 4}
    assert left(bottle) == (90, D("1.62"))
    assert cost_of_pour(pour).materials == D("1.08") + D("0.72") + D(2)
    layer = pour.layers.get()
    assert (layer.mixed_ml, layer.from_mixes_ml, layer.poured_ml) == (100, 60, 100)
    assert books.check(bench.studio) == []


def test_a_whole_layer_may_come_from_bottles(bench):
    first, second = mix(bench, bench.base, 40), mix(bench, bench.base, 80)

    pour = log(bench, layers={"base": LayerLog(D(100), mixes=((first, D(40)), (second, D(60))))})

    assert taken(pour).keys() == {"base", "tile"}
    assert (left(first), left(second)) == ((0, 0), (20, D("0.36")))


def test_colours_keep_their_shares_as_far_as_the_bottles_allow(bench):
    """60 mL of colours are 40 of blue mix and 20 of gold; 30 of the blue mix were there."""
    blue = mix(bench, bench.blue_mix, 50)

    pour = log(bench, layers={"colours": LayerLog(D(60), mixes=((blue, D(30)),))})

    assert taken(pour) == {"blue_mix": 30, "blue": 5, "white": 5, "gold": 20, "tile": 4}


def test_more_of_a_colour_than_its_share_leaves_less_for_the_others(bench):
    blue = mix(bench, bench.blue_mix, 50)

    pour = log(bench, layers={"colours": LayerLog(D(60), mixes=((blue, D(50)),))})

    assert taken(pour) == {"blue_mix": 50, "gold": 10, "tile": 4}


def test_topping_up_adds_up_for_any_bottles():
    """Three thirds of 100 mL, one of them all there: the rest is exact to the last place."""
    thirds = [Fraction(1, 3)] * 3
    with pytest.raises(ValueError, match="more than the 100 mL"):
        top_up(D(100), thirds, [D(60), D(41), D(0)])
    fresh = top_up(D(100), thirds, [D("33.3334"), D(0), D("10.1")])

    assert sum(fresh) == D("56.5666")


@pytest.mark.parametrize("count", [1, 2])
def test_run_off_and_a_mix_may_share_a_base_coat(bench, count):
    log(bench, layers={"base": LayerLog(D(100), kept_ml=D(30))})
    pot = bench.studio.bottles.get(material__name="Reclaimed paint")
    bottle = mix(bench, bench.base, 50)
    by_amount = LayerLog(D(100), reclaimed_ml=D(30), mixes=((bottle, D(50)),))
    by_bottle = LayerLog(D(100), mixes=((bottle, D(50)), (pot, D(30))))

    pour = log(bench, layers={"base": by_amount if count == 1 else by_bottle})

    assert taken(pour) == {"base": 50, "Reclaimed paint": 30, "white": 18, "tile": 4}


@pytest.mark.parametrize(
    ("layer", "amount", "says"),
    [
        ("colours", 20, "is not a mix of the colours of Tide"),
        ("activator", 5, "is not a mix of the cell activator of Tide"),
        ("base", 101, "Give as mixed all that was in the cups"),
        ("base", -1, "cannot be below zero"),
    ],
)
def test_what_cannot_have_come_from_a_bottle_is_refused(bench, layer, amount, says):
    bottle = mix(bench, bench.base, 150)
    before = shelf(bench)

    with pytest.raises(PourRefused, match=says):
        log(bench, layers={layer: LayerLog(D(100), mixes=((bottle, D(amount)),))})

    assert shelf(bench) == before


def test_more_than_a_bottle_holds_is_refused(bench):
    bottle, _ = mix(bench, bench.base, 20), mix(bench, bench.base, 200)

    with pytest.raises(NotInBottle, match=f"{bottle.code} base holds 20 mL, and 50 mL"):
        log(bench, layers={"base": LayerLog(D(100), mixes=((bottle, D(50)),))})


def test_another_studios_bottle_is_not_there(bench):
    theirs = working_studio()
    bottle = mix(theirs, theirs.base, 50)

    with pytest.raises(PourRefused, match="no bottle like that"):
        log(bench, layers={"base": LayerLog(D(100), mixes=((bottle, D(50)),))})


def test_undoing_the_pour_fills_the_bottle_again(bench):
    bottle = mix(bench, bench.base, 150)
    pour = log(bench, layers={"base": LayerLog(D(100), mixes=((bottle, D(60)),))})

    pours.undo_pour(pour=pour, by=None, why="Not this one")

    assert left(bottle) == (150, D("2.7"))
    assert books.check(bench.studio) == []


def test_silicone_in_a_mix_warns_on_the_base_and_goes_over_to_the_run_off(bench):
    bench.gold.has_silicone = True
    bench.gold.save()
    clean = log(bench, layers={"base": LayerLog(D(50))})
    log(
        bench,
        layers={"base": LayerLog(D(100), kept_ml=D(30)), "colours": LayerLog(D(30))},
    )
    pot = bench.studio.bottles.get(material__name="Reclaimed paint")

    pour = log(bench, layers={"base": LayerLog(D(80), reclaimed_ml=D(30))})

    assert pot.holds_silicone
    (judged,) = judge_base(pour)
    assert judged.is_warning and judged.sentence.startswith(f"{pot.code} Reclaimed paint contains")
    assert not judge_base(clean)[0].is_warning


# For a commission


def test_mixing_for_a_commission_turns_what_it_is_promised_into_its_mix(bench):
    """Ingredients promised go down by what went in, and the mix is promised instead."""
    commission = accepted(bench)
    before = held(bench, commission)

    bottle = mix(bench, bench.base, 100, commission=commission)

    after = held(bench, commission)
    assert after.pop("base") == 100
    assert before["white"] - after["white"] == 90
    assert {name: before[name] for name in before if name != "white"} == {
        name: after[name] for name in after if name != "white"
    }
    assert left(bottle) == (100, D("1.8"))
    assert books.check(bench.studio) == []


def test_its_pour_uses_the_mix_and_in_the_end_nothing_is_held(bench):
    commission = accepted(bench)
    line = commission.lines.get()
    bottle = mix(bench, bench.base, 150, commission=commission)

    half = {"base": LayerLog(D(100), mixes=((bottle, D(100)),)), "colours": LayerLog(D(30))}
    log(bench, line=line, count=4, good_count=4, layers=half)
    between = held(bench, commission)
    rest = {"base": LayerLog(D(80), mixes=((bottle, D(50)),)), "colours": LayerLog(D(30))}
    pour = log(bench, line=line, count=4, good_count=4, layers=rest)

    # Half of the tiles are left: half of what was promised, the 50 mL that are mixed included.
    needs = dict(commission.quotes.get().frozen["lines"][0]["needs"]["pour"])
    whole = D(str(needs[bench.white.pk]))
    assert between["base"] == 50
    assert between["white"] == (whole / 2).quantize(D("0.0001")) - 45
    assert taken(pour)["base"] == 50
    assert not held(bench, commission).keys() & {"base", "white", "blue", "gold", "tile"}


def test_a_mix_held_for_one_commission_is_not_poured_for_another(bench):
    bottle = mix(bench, bench.base, 100, commission=accepted(bench))
    other = accepted(bench)

    layers = {"base": LayerLog(D(100), mixes=((bottle, D(60)),))}
    with pytest.raises(StockShortfall, match="100 mL is promised to"):
        log(bench, line=other.lines.get(), layers=layers)


def test_what_is_mixed_beyond_need_is_left_free(bench):
    """Held is only as much of the mix as all of its ingredients are still needed."""
    commission = accepted(bench, quantity=1, pieces_each=1)
    white = held(bench, commission)["white"]

    mix(bench, bench.base, 500, commission=commission)

    after = held(bench, commission)
    assert "white" not in after
    # All of the white that was promised, as base: nine parts in ten.
    assert after["base"] == pytest.approx(white / D("0.9"), abs=D("0.001"))


def test_a_mix_that_is_poured_over_stays_its_commissions(bench):
    """What is held is the mix, in whichever bottle; silicone goes along."""
    commission = accepted(bench)
    bench.white.has_silicone = True
    bench.white.save()
    bottle = mix(bench, bench.base, 100, commission=commission)

    stock.decant(studio=bench.studio, by=None, bottle=bottle, into=stock.Vessel(), quantity=D(40))
    renew_holds(commission)

    assert held(bench, commission)["base"] == 100
    poured_over = bottle.material.bottles.exclude(pk=bottle.pk).get()
    assert (poured_over.remaining, poured_over.has_silicone) == (40, True)


def test_undoing_a_pour_holds_the_mix_again(bench):
    commission = accepted(bench)
    bottle = mix(bench, bench.base, 100, commission=commission)
    before = held(bench, commission)
    layers = {"base": LayerLog(D(100), mixes=((bottle, D(60)),))}
    pour = log(bench, line=commission.lines.get(), layers=layers)

    pours.undo_pour(pour=pour, by=None, why="Not this one")

    assert held(bench, commission) == before


def test_undoing_the_batch_promises_the_ingredients_again(bench):
    commission = accepted(bench)
    before = held(bench, commission)
    batch = mix(bench, bench.base, 100, commission=commission).batch

    undo_batch(batch=batch, by=None, why="Wrong recipe")

    assert held(bench, commission) == before
    assert Material.objects.get(recipe=bench.base).on_hand == 0


def test_work_that_is_not_accepted_is_not_mixed_for(bench):
    commission = opened(bench)

    with pytest.raises(PourRefused, match="Mix for stock instead"):
        mix(bench, bench.base, 100, commission=commission)


def cups_of(bench, *commissions):
    return {cup.recipe.name: cup for cup in commission_sheet(bench.studio, commissions).cups}


def test_a_mixing_sheet_asks_only_for_the_rest_of_what_is_there(bench):
    commission = accepted(bench)
    whole = cups_of(bench, commission)["base"].volume_ml
    bottle = mix(bench, bench.base, 100)

    cups = cups_of(bench, commission)

    assert [(one.bottle, one.quantity) for one in cups["base"].ready] == [(bottle, 100)]
    assert cups["base"].volume_ml == whole - 100
    assert sum(one.step.ml for one in cups["base"].additions) == whole - 100
    assert {cup.ready for name, cup in cups.items() if name != "base"} == {()}
    assert not any(cup.silicone for cup in cups.values())


def test_what_is_enough_before_it_is_rounded_up_is_not_filled_up(bench):
    commission = accepted(bench)
    line = estimate_commission(commission).lines[0]
    needed = line.piece.layer("base").needed_ml
    assert needed < cups_of(bench, commission)["base"].volume_ml - D("0.5")

    mix(bench, bench.base, needed, commission=commission)

    base = cups_of(bench, commission)["base"]
    assert (base.volume_ml, base.additions, base.measure) == (0, (), "")


@pytest.mark.parametrize("how", ["expired", "promised"])
def test_what_is_expired_or_promised_to_others_is_not_counted(bench, how):
    commission = accepted(bench)
    whole = cups_of(bench, commission)["base"].volume_ml
    other = accepted(bench) if how == "promised" else None
    bottle = mix(bench, bench.base, 50, commission=other)
    if how == "expired":
        bottle.expires_on = bench.studio.today() - timedelta(days=1)
        bottle.save(update_fields=["expires_on"])

    base = cups_of(bench, commission)["base"]

    assert (base.volume_ml, base.ready, base.kept) == (whole, (), (bottle,))


def test_a_pours_form_starts_with_what_was_mixed_for_it(bench):
    """Two lines share their cups; each pour takes its part, and together they take all of it."""
    maker = member(bench.studio, "maker").client
    commission = opened(bench)
    add_tiles(bench, commission, quantity=1)
    add_tiles(bench, commission, surface=bench.canvas_size, quantity=1, pieces_each=1)
    quote = quoting.draft_quote(commission=commission, by=None)
    quoting.accept_quote(quote=going_on.send_quote(quote=quote, by=None), name="Wren")
    bottles = {
        cup.recipe.name: mix(bench, cup.recipe, cup.volume_ml, commission=commission)
        for cup in cups_of(bench, commission).values()
    }
    for line in commission.lines.all():
        form = maker.get(reverse("pour-new"), {"line": line.pk}).context["form"]
        answer = maker.post(f"{reverse('pour-new')}?line={line.pk}", offered(form))
        assert answer.status_code == 302

    for pour in bench.studio.pours.all():
        used = taken(pour)
        assert used.keys() == {*bottles, pour.surface.material.name}
    for bottle in bottles.values():
        assert 0 <= left(bottle)[0] < D("0.5")
    assert books.check() == []


def offered(form):
    """Return what a browser sends back of a form that nobody changed."""
    filled = {name: form[name].value() for name in form.fields}
    return {name: value for name, value in filled.items() if value not in (None, [], ())}


def test_quotes_do_not_count_a_mix_as_needed(bench):
    """A quote is priced from ingredients, whatever stands mixed."""
    commission = opened(bench)
    mix(bench, bench.base, 100)
    add_tiles(bench, commission)
    quote = quoting.draft_quote(commission=commission, by=None)

    needs = {key for line in quote.frozen["lines"] for key, _ in line["needs"]["pour"]}
    assert bench.white.pk in needs
    assert Material.objects.get(recipe=bench.base).pk not in needs


def test_a_pour_from_a_mix_through_the_api(bench):
    api = member(bench.studio, "maker").api
    bottle = mix(bench, bench.base, 100)
    asked = {
        "surface": bench.tile_size.pk,
        "technique": "bloom",
        "palette": bench.palette.pk,
        "count": 4,
        "minutes": "30",
        "layers": [
            {
                "layer": "base",
                "mixed_ml": "100 mL",
                "mixes": [{"bottle": bottle.code.lower(), "ml": "¼ cup"}],
            }
        ],
    }

    made = api.post("/api/v1/pours/", asked, format="json")

    # A quarter of a US cup: 59.147 mL.
    assert (made.status_code, made.json()["layers"][0]["from_mixes_ml"]) == (201, "59.147")
    assert left(bottle)[0] == D("40.8529")
