"""Paint counts as it is mixed and lost, worked out a second time with fractions.

The forecasts are given, so that a quote can be worked by hand. Per mL, by `tests.factories.bench`:
white base 0.018, the blue mix 0.03, gold 0.05, the activator 0.025.
"""

from decimal import Decimal as D
from fractions import Fraction as F
from math import exp, inf, log, pi, sqrt

import numpy as np
import pytest
from scipy.integrate import quad

from inventory.mixing.proportions import MixingError
from pricing.bench.mixing_sheets import commission_sheet, plan_sheet
from pricing.bench.pours import LayerLog
from pricing.costing.piece_costs import cost_of_pour
from pricing.estimating import coverage
from pricing.estimating.coverage import LAYERS_OF, CoverageError, Forecast, Job, to_pour
from pricing.estimating.coverage.forecast import Part
from pricing.estimating.coverage.job import Cell
from pricing.estimating.estimates import estimate, estimate_commission
from pricing.estimating.mixing import spent
from pricing.estimating.sessions import session_mix, to_mix
from pricing.quoting import quotes as quoting
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.judged import pour_judged
from tests.pricing.bench.test_pours_from_mixes import mix
from tests.pricing.commissions.test_commissions import add_tiles, opened

PER_ML = {"base": F("0.018"), "blue_mix": F("0.03"), "gold_mix": F("0.05")}
ACTIVATOR = F("0.025")


# What is poured of what there is


def density(volume, forecast):
    """Of the lognormal distribution, as it is written in every handbook."""
    (part,) = forecast.parts
    far = (log(volume) - part.ln_median) / part.ln_scale
    return exp(-(far**2) / 2) / (volume * part.ln_scale * sqrt(2 * pi))


def lognormal(sd):
    return Forecast("bloom", 1, "base", (Part(1.0, log(100), sd),), inf, False)


@pytest.mark.parametrize("sd", (0.05, 0.25, 0.6))
@pytest.mark.parametrize("enough", (40.0, 100.0, 131.0, 900.0))
def test_what_is_poured_is_the_mean_of_what_it_takes_and_of_what_is_there(sd, enough):
    forecast = lognormal(sd)

    below, _ = quad(lambda ml: ml * density(ml, forecast), 0, enough, points=[min(enough, 100)])
    above, _ = quad(lambda ml: density(ml, forecast), enough, 5000, points=[max(enough, 100)])

    assert to_pour(forecast, enough) == pytest.approx(below + enough * above, rel=1e-5)


def test_where_nothing_is_left_to_chance_it_is_what_it_takes():
    forecast = lognormal(0.0)

    assert to_pour(forecast, 130.0) == pytest.approx(100)
    assert to_pour(forecast, 80.0) == 80
    with pytest.raises(CoverageError, match="something to pour"):
        to_pour(forecast, 0.0)


@pytest.mark.parametrize(
    ("mixed", "poured", "saved_share", "used", "left"),
    [
        # Cups take 1/19 of what is poured: 95 mL poured are 100 mL out of the cups.
        ("125", "95", "0", "125", "30"),
        ("125", "95", "1", "100", "5"),
        ("125", "95", "0.6", "110", "15"),
        # More is poured than the cups are said to let go: nothing is over.
        ("125", "124", "1", "125", "1"),
    ],
)
def test_what_is_not_poured_is_kept_or_stays_in_the_cups(mixed, poured, saved_share, used, left):
    goes = spent(
        D(mixed), D(poured), cup_loss=D("0.05"), saved_share=D(saved_share), scraped_share=D("0.2")
    )

    assert (goes.used, goes.left) == (D(used), D(left))
    assert goes.mixed == goes.saved + goes.left + goes.poured
    assert goes.scraped == D(poured) / 5


@pytest.mark.parametrize(
    "wrong", [{"cup_loss": D(1)}, {"saved_share": D("1.1")}, {"scraped_share": D("-0.1")}]
)
def test_shares_out_of_range_are_refused(wrong):
    with pytest.raises(MixingError, match="shares from 0 to 1"):
        spent(D(10), D(5), **{"cup_loss": D(0), **wrong})
    with pytest.raises(MixingError, match="no more can be poured"):
        spent(D(10), D(11), cup_loss=D(0))


def test_what_to_mix_is_a_measure_and_can_be_read_off_a_cylinder():
    """A quarter of a US cup is 59.147 mL, which no cylinder shows."""
    assert to_mix(D("57.5"), "us") == (D("59.2"), "¼ cup")
    assert to_mix(D("57.5"), "metric") == (D("60.0"), "4 tbsp")


def test_several_works_share_what_is_mixed_to_the_tenth():
    cups = session_mix("base", [D("20.2"), D(0), D("37.3")], "us")

    assert cups.volume_ml == D("59.2")
    assert cups.portions == (D("20.8"), D("0.0"), D("38.4"))  # of 57.5: 20.797 and 38.403


# Quotes by hand

pytestmark = pytest.mark.django_db


@pytest.fixture
def certain(monkeypatch):
    """Forecasts without chance: of each piece 118.75 mL of base, 59.375 of colours, 4.75 of cells.

    With a twentieth lost in cups, 125, 62.5 and 5 mL are needed: half and a quarter of a metric
    cup, and a teaspoon.
    """
    foreseen(monkeypatch)


def foreseen(monkeypatch, median=None, sd=None):
    """Foresee 118.75, 59.375 and 4.75 mL for each piece, or others, with spreads by layer."""
    median, sd = median or {}, sd or {}
    each = {"base": 118.75, "colours": 59.375, "activator": 4.75}

    def job(self, lines):
        asked = [
            (at, layer) for at, line in enumerate(lines) for layer in LAYERS_OF[line.technique]
        ]
        medians = [(each | median)[layer] * lines[at].count for at, layer in asked]
        variances = [sd.get(layer, 0.0) ** 2 for _, layer in asked]
        return Job(
            cells=tuple(Cell(at, layer, 0, 1.0) for at, layer in asked),
            asked=tuple((line.technique, line.count) for line in lines),
            means=np.log(medians),
            covariance=np.diag(variances),
            freedom=inf,
            outside=(False,) * len(asked),
        )

    monkeypatch.setattr(coverage.Estimator, "job", job)


def ordered(bench, **more):
    commission = opened(bench)
    details = {"quantity": 1, "pieces_each": 1, **more}
    add_tiles(bench, commission, **details)
    return commission


def costs_of(quote):
    """Return {layer: (cost, cautious)} of the only line of a quote."""
    (line,) = quote.frozen["lines"]
    return {
        one["label"]: (F(one["amount"]), F(one["cautious"]))
        for one in line["cost_lines"]
        if one["kind"] == "material"
    }


def draft(commission):
    return quoting.draft_quote(commission=commission, by=None)


def test_all_that_is_mixed_is_paid_for(certain):
    """62.5 mL of colours are 41.7 mL of the blue mix and 20.8 of gold."""
    bench = working_studio(measures="metric")

    costs = costs_of(draft(ordered(bench)))

    assert costs["Base coat"][0] == 125 * PER_ML["base"]
    assert costs["Colours"][0] == F("41.7") * PER_ML["blue_mix"] + F("20.8") * PER_ML["gold_mix"]
    assert costs["Cell activator"][0] == 5 * ACTIVATOR
    assert all(cautious == usual for usual, cautious in costs.values())


def test_run_off_that_is_kept_goes_off_at_what_it_will_be_worth(certain):
    """Bloom is taken to keep 45 % of what is poured, until ten pours are logged.

    It replaces base mix, so of the colours no more comes back than as much base costs.
    """
    bench = working_studio(measures="metric", run_off_value="base")
    commission = ordered(bench)

    costs = costs_of(draft(commission))

    colours = F("41.7") * PER_ML["blue_mix"] + F("20.8") * PER_ML["gold_mix"]
    by_layer = {
        "Base coat": (125 * PER_ML["base"], F("53.438")),
        "Colours": (colours, F("26.719")),
        "Cell activator": (5 * ACTIVATOR, F("2.138")),
    }
    for layer, (took, kept_ml) in by_layer.items():
        assert abs(costs[layer][0] - (took - kept_ml * PER_ML["base"])) < F(2, 10**6)
    (line,) = draft(commission).frozen["lines"]
    assert "how much of the paint is kept are our guess, no source" in line["guess"]


def logged(bench, **layers):
    return pour_judged(
        studio=bench.studio,
        by=None,
        surface=bench.canvas_size,
        technique=bench.bloom,
        palette=bench.palette,
        layers=layers,
        count=1,
        good_count=1,
        minutes=D(30),
    )


def test_what_the_logs_keep_is_learned_and_then_no_guess(certain):
    """Of a layer out of bottles all that is over stays there, and counts against three guesses.

    Ten pours, five of them out of bottles: 5/13 of what is over is kept. Each scraped back a fifth
    of the base: (3 · 0.45 + 10 · 0.2) / 13.
    """
    bench = working_studio(measures="metric", run_off_value="base")
    bench.canvas_size.material = None
    bench.canvas_size.save()
    for place in range(10):
        mixes = ((mix(bench, bench.base, 60), D(50)),) if place % 2 else ()
        logged(bench, base=LayerLog(D(50), kept_ml=D(10), mixes=mixes))

    commission = ordered(bench)
    piece = estimate_commission(commission).lines[0].piece

    saved, scraped = F("0.3846"), F("0.2577")
    over = F(125) - F("118.75") / F("0.95")
    goes = piece.layer("base").spent
    assert abs(F(goes.saved) - saved * over) < F(1, 1000)
    assert abs(F(goes.scraped) - scraped * F("118.75")) < F(1, 1000)
    assert not piece.keeping.is_guess
    (line,) = draft(commission).frozen["lines"]
    assert "paint" not in line["guess"]


def test_what_is_saved_in_a_bottle_is_not_paid_for(certain, monkeypatch):
    """At 90 % sure of enough, 0.2 spread and half saved: what is over is worked out by hand.

    100 · exp(1.281552 · 0.2) is 129.2150 mL, 136.0158 with a twentieth lost, so half a cup and a
    tablespoon are mixed, 140 mL, of which 133 can be poured. With z = ln(1.33) / 0.2 = 1.425895
    that is 102.0201 · Φ(1.225895) + 133 · Φ(-1.425895) = 90.7857 + 10.2344 mL on average, which
    are 106.3369 out of cups: half of the other 33.6631 is saved.
    """
    bench = working_studio(measures="metric")
    foreseen(monkeypatch, median={"base": 100.0}, sd={"base": 0.2})
    keeping = coverage.Keeping({"base": D("0.5")}, {}, 10)
    monkeypatch.setattr("pricing.estimating.learning.Hand.keeping", lambda self, slug: keeping)

    commission = ordered(bench)
    costs = costs_of(draft(commission))
    goes = estimate_commission(commission).lines[0].piece.layer("base").spent

    assert goes.mixed == D("140.0")
    assert goes.poured == pytest.approx(D("101.020"), abs=D("0.001"))
    assert abs(costs["Base coat"][0] - (140 - F("33.6631") / 2) * PER_ML["base"]) < F(1, 9999)
    # In the cautious case 129.215 mL are poured, 136.0158 with what cups take, and half is saved.
    cautious = 140 - (140 - F("136.0158")) / 2
    assert abs(costs["Base coat"][1] - cautious * PER_ML["base"]) < F(1, 9999)


# The sheet, the price and the pour


def test_the_sheet_says_what_the_price_counts(certain):
    bench = working_studio(measures="metric")
    commission = ordered(bench, quantity=3)

    sheet = commission_sheet(bench.studio, [commission])
    planned = plan_sheet(
        bench.studio,
        estimate(bench.studio, bench.tile_size, "bloom", 3, palette=bench.palette),
        "Three tiles",
        bench.palette,
    )
    piece = estimate_commission(commission).lines[0].piece

    mixed = {mix.name: mix.to_mix_ml for layer in piece.layers for mix in layer.mixes}
    assert {cup.recipe.name: cup.volume_ml for cup in sheet.cups} == mixed
    assert {cup.recipe.name: cup.volume_ml for cup in planned.cups} == mixed


@pytest.mark.parametrize("worth", ("base", "nothing"))
def test_a_pour_made_as_planned_takes_what_the_quote_says(certain, worth):
    """A colour whose share is too small to drizzle is raised in the cups and in the log alike."""
    bench = working_studio(measures="metric", run_off_value=worth)
    bench.palette.colours.filter(recipe=bench.gold_mix).update(parts=D("0.1"))
    commission = ordered(bench)
    piece = estimate_commission(commission).lines[0].piece
    quote = going_on.send_quote(quote=draft(commission), by=None)
    quoting.accept_quote(quote=quote, by=None)

    pour = pour_judged(
        studio=bench.studio,
        by=None,
        line=commission.lines.get(),
        count=1,
        good_count=1,
        minutes=D(30),
        layers={
            layer.layer: LayerLog(layer.spent.used, layer.spent.left, layer.spent.scraped)
            for layer in piece.layers
        },
    )

    expected = sum(usual for usual, _ in costs_of(quote).values()) + F("0.5")  # the tile
    assert abs(F(cost_of_pour(pour).materials) - expected) < F(1, 10**5)
    gold = pour.entry.movements.get(material=bench.gold)
    assert -gold.quantity == 5
