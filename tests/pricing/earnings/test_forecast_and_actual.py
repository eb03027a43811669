"""Forecast and actual agree: to the cent as planned, and on average where chance has its part."""

from collections import Counter
from dataclasses import replace
from decimal import Decimal as D
from fractions import Fraction as F
from math import exp, isfinite, sqrt

import numpy as np
import pytest

from inventory.models import RecipePart
from inventory.stock import books
from inventory.stock import ledger as stock
from pricing.bench.work import pour_of_line
from pricing.commissions import orders
from pricing.commissions.stock_checks import stock_check
from pricing.costing.costs import packing_minutes
from pricing.costing.habits import habits_of
from pricing.demo import shelves, shop, story
from pricing.earnings.hindsight import hindsight
from pricing.earnings.where_it_went import forecast_beside_actual
from pricing.estimating import coverage
from pricing.estimating.estimates import estimate, estimate_commission
from pricing.estimating.layers import line_of
from pricing.estimating.learning import estimator_for
from pricing.estimating.mixing import Spent
from pricing.estimating.sizes import geometry
from pricing.estimating.step_materials import amounts_used
from studio.money import minor_unit, to_payable
from tests.factories.bench import working_studio
from tests.factories.pricing import ChannelFactory, CustomerFactory
from tests.pricing.commissions.test_commissions import add_tiles, opened
from tests.pricing.earnings.plans import (
    accept,
    log_before,
    make_and_sell,
    make_session,
    minutes,
    pack,
    random_studio,
    sell_all,
)

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("seed", range(10))
def test_what_is_made_as_planned_earns_what_was_forecast(seed):
    """Whatever the currency, tax, costing, measures, recipes, lots, steps, fees and habits."""
    commission, palettes, terms, dice = random_studio(seed)
    studio = commission.studio
    log_before(studio, palettes, dice)
    planned = estimate_commission(commission)

    quote = accept(commission, **terms)
    make_and_sell(commission, planned, terms["channel"])

    (row,) = hindsight(studio)
    assert row.forecast.revenue == row.actual.revenue == quote.gross
    assert (row.forecast.tax, row.forecast.fees) == (row.actual.tax, row.actual.fees)
    assert row.forecast.minutes == row.actual.minutes
    assert to_payable(row.difference, studio.currency) == 0
    assert abs(row.difference) < minor_unit(studio.currency) / 10


@pytest.mark.parametrize("is_free", (False, True))
@pytest.mark.parametrize("coated", (False, True))
def test_a_test_tile_costs_the_commission_what_was_forecast(is_free, coated):
    """One that is in the price, and one that is given for free; with listing fees by the set."""
    bench = working_studio(run_off_value="base")
    bench.studio.techniques.update(success_rate=1, learns=False)
    commission = opened(bench)
    tile = {"quantity": 1, "pieces_each": 1, "topcoat": bench.kit if coated else None}
    add_tiles(bench, commission, is_test=True, is_free=is_free, **tile)
    add_tiles(bench, commission, topcoat=bench.kit, packaging=bench.box)
    add_tiles(bench, commission, surface=bench.canvas_size, quantity=1, pieces_each=1)
    fees = {"percent_fee": D("0.05"), "fixed_fee": D("0.3"), "listing_fee": D("0.2")}
    channel = ChannelFactory(studio=bench.studio, **fees)
    bought_first(commission)
    planned = estimate_commission(commission)

    quote = accept(commission, channel=channel)
    make_and_sell(commission, planned, channel)

    (row,) = hindsight(bench.studio)
    tile_line = quote.frozen["lines"][0]
    assert (D(tile_line["amount"]) == 0) is is_free
    assert D(tile_line["cost"]) > 0
    assert row.forecast.revenue == row.actual.revenue == quote.gross
    assert (row.forecast.tax, row.forecast.fees) == (row.actual.tax, row.actual.fees)
    assert row.forecast.minutes == row.actual.minutes
    assert abs(row.difference) < D("0.001")
    assert [finding.sentence for finding in books.check(bench.studio)] == []
    shown = forecast_beside_actual([row])
    assert to_payable(shown.wholes[0] - shown.wholes[1], "USD") == 0


def test_the_form_of_a_pour_starts_with_what_was_planned():
    bench = working_studio()
    commission = opened(bench)
    add_tiles(bench, commission, quantity=1)
    add_tiles(bench, commission, surface=bench.canvas_size, quantity=1, pieces_each=1)
    lines = estimate_commission(commission).lines
    accept(commission)

    for one in lines:
        starts_with = pour_of_line(one.line, one.piece.count)
        planned = {f"{layer.layer}_mixed": layer.to_mix_ml for layer in one.piece.layers}
        assert {name: D(text.removesuffix(" mL")) for name, text in starts_with.items()} == planned


def bought_first(commission):
    """Receive what is missing for a commission, so that nothing has to be bought in between."""
    for short in stock_check(commission).short:
        material = short.material
        value = short.missing * (8 if material.unit == "each" else D("0.02"))
        receipt = stock.Receipt(material=material, quantity=short.missing, value=value)
        stock.receive(studio=commission.studio, by=None, receipts=[receipt])


def demo_commission(**techniques):
    """The demo's studio with its weeks before, and what its customer asks for."""
    studio, owner = shop.build(1)
    studio.techniques.update(learns=False, **techniques)
    commission = orders.open_commission(
        studio=studio, by=owner, customer=CustomerFactory(studio=studio), title="As in the demo"
    )
    story.add_lines(studio, owner, commission)
    bought_first(commission)
    return commission, studio.channels.get(name=shelves.BY_CARD)


def test_the_demo_made_as_planned_earns_what_was_forecast():
    commission, card = demo_commission(success_rate=1, coat_success_rate=1)
    planned = estimate_commission(commission)

    quote = accept(commission, channel=card)
    make_and_sell(commission, planned, card)

    (row,) = hindsight(commission.studio)
    assert row.forecast.revenue == row.actual.revenue == quote.gross
    assert to_payable(row.difference, "USD") == 0
    assert abs(row.difference) < D("0.001")


# With chance: what is poured is drawn from the forecast, and pieces fail at their rates.


class Makings:
    """A commission whose makings are drawn, and worked out a second time with fractions.

    What is planned is looked up before anything is logged, since a log changes the next estimate.
    """

    def __init__(self, commission, **terms):
        self.commission, self.studio = commission, commission.studio
        self.channel = terms["channel"]
        self.habits = habits_of(self.studio)
        planned = estimate_commission(commission)
        self.quote = accept(commission, **terms)
        frozen = self.quote.frozen
        self.totals = {name: F(text) for name, text in frozen["totals"].items()}
        lines = zip(planned.lines, frozen["lines"], strict=True)
        self.lines = [Line(self, one, line["cost_lines"]) for one, line in lines]

    def draw(self, dice):
        return [line.draw(dice) for line in self.lines]

    def profit(self, drawn):
        shipping = (
            self.totals["net"] - self.totals["fees"] - self.totals["cost"] - self.totals["profit"]
        )
        cost = sum(line.cost(sessions) for line, sessions in zip(self.lines, drawn, strict=True))
        return self.totals["net"] - self.totals["fees"] - shipping - cost

    def make(self, drawn):
        """The same through the services."""
        for line, sessions in zip(self.lines, drawn, strict=True):
            line.make(sessions)
        sell_all(self.commission, self.channel)


MADE_OF = ("material", "prepared", "finished")


def unit_prices(planned, cost_lines):
    """{material: what one unit of it costs in a line}, by what the line takes and pays for it."""
    paid, taken = Counter(), Counter()
    for one in cost_lines:
        for name, amount in one["made_of"] if one["kind"] in MADE_OF else ():
            paid[name] += F(amount)
        if one["kind"] == "surface":
            paid[planned.line.surface.material.name] += F(one["amount"])
        if one["kind"] == "packaging":
            paid[planned.line.packaging.name] += F(one["amount"])
    for material, need in planned.needs.items():
        taken[material.name] += F(need.used)
    return {name: paid[name] / amount for name, amount in taken.items()}


def drawn(forecast, dice):
    """What a pour takes, [mL]: one of the ways it may be, with Student's distribution of its ln."""
    ways = forecast.parts
    way = ways[dice.choice(len(ways), p=[one.chance for one in ways])]
    far = dice.standard_t(forecast.freedom) if isfinite(forecast.freedom) else dice.normal()
    return min(exp(way.ln_median + way.ln_scale * far), 1e6)


class Line:
    """One line of such a commission."""

    def __init__(self, makings, planned, cost_lines):
        self.makings, self.planned, self.line = makings, planned, planned.line
        self.prices, self.per_ml = unit_prices(planned, cost_lines), {}
        line, studio = self.line, makings.studio
        self.pieces = planned.piece.count
        self.habit = makings.habits[line.technique_id]
        self.success = float(self.habit.pour_success)
        self.coat_success = float(self.habit.coat_success) if line.topcoat else 1.0
        self.let_go = 1 - studio.cup_loss
        self.keeping = planned.piece.keeping
        estimator, slug = estimator_for(studio), line.technique.slug
        layers = {layer.layer for layer in planned.piece.layers}
        self.pieces_of, self.forecasts = {}, {}
        for count in range(1, self.pieces + 1):
            self.pieces_of[count] = estimate(
                *(studio, line.surface, slug, count),
                palette=line.palette,
                topcoat=line.topcoat,
            )
            job = estimator.job([line_of(geometry(line.surface), slug, count)])
            self.forecasts[count] = {
                key: one for key, one in job.forecasts().items() if key in layers
            }

    def mix_per_ml(self, recipe_id):
        """What a mL of a mix costs, by the parts of its recipe, which are by volume."""
        if recipe_id not in self.per_ml:
            parts = RecipePart.objects.filter(recipe=recipe_id).select_related("material")
            self.per_ml[recipe_id] = sum(
                F(part.parts) * self.part_per_ml(part) for part in parts
            ) / sum(F(part.parts) for part in parts)
        return self.per_ml[recipe_id]

    def part_per_ml(self, part):
        if part.subrecipe_id:
            return self.mix_per_ml(part.subrecipe_id)
        weighs = F(part.material.density_g_per_ml) if part.material.unit == "g" else 1
        return weighs * self.prices[part.material.name]

    def of_session(self, place, count):
        """What is planned for a session: the first is mixed for with the other lines."""
        return self.planned.piece if place == 0 else self.pieces_of[count]

    def draw(self, dice):
        """One making: (pieces, {layer: poured}, failed in the pour, spoiled) of each session."""
        sessions, wanted = [], self.pieces
        while wanted:
            poured = {}
            for layer, forecast in self.forecasts[wanted].items():
                takes = drawn(forecast, dice)
                mixed = self.of_session(len(sessions), wanted).layer(layer).to_mix_ml
                poured[layer] = min(D(f"{takes:.3f}"), (mixed * self.let_go).quantize(D("0.001")))
            failed = int(dice.binomial(wanted, 1 - self.success))
            spoiled = int(dice.binomial(wanted - failed, 1 - self.coat_success))
            sessions.append((wanted, poured, failed, spoiled))
            wanted = failed + spoiled
        return sessions

    def goes(self, layer, poured):
        """Where a layer's mix goes when so much is poured."""
        saved, scraped = (
            shares.get(layer.layer, D(0)) for shares in (self.keeping.saved, self.keeping.scraped)
        )
        over = max(layer.to_mix_ml - poured / self.let_go, D(0))
        used = (layer.to_mix_ml - saved * over).quantize(D("0.001"))
        return Spent(layer.to_mix_ml, used, poured, (scraped * poured).quantize(D("0.001")))

    def cost(self, sessions):
        """What a making costs: paint less run-off, resin, surfaces, packaging and all minutes."""
        prices, studio = self.prices, self.makings.studio
        total, line = F(0), self.line
        worked = F(packing_minutes(line, self.habit)) * line.quantity
        if line.packaging:
            total += line.quantity * prices[line.packaging.name]
        total += self.steps("pack", self.pieces)
        for place, (count, poured, failed, _) in enumerate(sessions):
            piece = self.of_session(place, count)
            total += self.steps("pour", count)
            total += count * prices[line.surface.material.name]
            worked += F(minutes(self.habit, "pour", count, line.topcoat is not None))
            per_ml = {
                name: sum(
                    self.mix_per_ml(mix.recipe_id) * F(mix.to_mix_ml)
                    for mix in piece.layer(name).mixes
                )
                / F(piece.layer(name).to_mix_ml)
                for name in poured
            }
            for name, ml in poured.items():
                goes = self.goes(piece.layer(name), ml)
                total += F(goes.used) * per_ml[name]
                if studio.run_off_value == "base":
                    total -= F(goes.scraped) * min(per_ml[name], per_ml["base"])
            if line.topcoat and failed < count:
                total += self.steps("coat", count - failed)
                resin = self.coat(place, count - failed).materials
                total += sum(F(need.used) * prices[key.name] for key, need in resin.items())
                worked += F(minutes(self.habit, "topcoat", count - failed, True))
        return total + worked * F(studio.labour_rate + studio.overhead_rate) / 60

    def steps(self, act, count):
        """What the other steps of an act use for so many pieces."""
        line, coated = self.line, self.line.topcoat is not None
        rows = line.technique.steps.select_related("material")
        used = amounts_used(rows, act, line.surface, count, coated=coated)
        return sum(F(amount) * self.prices[key.name] for key, amount in used.items())

    def coat(self, place, count):
        all_of_them = place == 0 and count == self.pieces
        piece = self.planned.piece if all_of_them else self.pieces_of[count]
        return piece.layer("topcoat")

    def make(self, sessions):
        for place, (count, poured, failed, spoiled) in enumerate(sessions):
            layers = [
                replace(layer, spent=self.goes(layer, poured[layer.layer]))
                for layer in self.of_session(place, count).layers
                if layer.layer in poured
            ]
            resin_ml = None
            if self.line.topcoat and failed < count:
                resin_ml = self.coat(place, count - failed).to_mix_ml
            make_session(self.line, self.habit, layers, count, resin_ml, failed, spoiled)
        pack(self.line, self.habit)


FAILING = {"success_rate": D("0.8"), "coat_success_rate": D("0.9"), "learns": False}


def tiles(saved, **more):
    """Tiles of the bench, whose materials have one price each; some paint is kept."""
    bench = working_studio(measures="metric", run_off_value="base")
    bench.studio.techniques.update(**FAILING)
    commission = opened(bench)
    add_tiles(bench, commission, topcoat=bench.kit, packaging=bench.box, **more)
    channel = ChannelFactory(studio=bench.studio, percent_fee=D("0.05"), fixed_fee=D("0.3"))
    scraped = {"base": D("0.4"), "colours": D("0.1"), "activator": D(0)}
    keeping = coverage.Keeping({"base": D(saved), "colours": D(0)}, scraped, 12)
    return keeping, commission, {"channel": channel}


def one_tile():
    return tiles("0", quantity=1, pieces_each=1)


def eight_tiles():
    return tiles("0.5", quantity=2, pieces_each=4)


def of_the_demo():
    commission, card = demo_commission()
    return None, commission, {"channel": card}


def of_dice(seed):
    commission, palettes, terms, dice = random_studio(seed)
    log_before(commission.studio, palettes, dice)
    commission.studio.techniques.update(**FAILING)
    return None, commission, terms


@pytest.fixture
def makings(request, monkeypatch):
    kind, *facts = request.param
    keeping, commission, terms = kind(*facts)
    if keeping:
        monkeypatch.setattr(
            "pricing.estimating.learning.Hand.keeping", lambda self, technique: keeping
        )
    return Makings(commission, **terms)


BENCH = [(one_tile,), (eight_tiles,)]


@pytest.mark.parametrize(
    "makings", [*BENCH, (of_the_demo,), *((of_dice, seed) for seed in range(5))], indirect=True
)
def test_the_mean_of_many_makings_is_what_was_forecast(makings):
    """1,200 makings, drawn: the mean lies within three standard errors of the forecast.

    Within two, one studio in twenty would fail by chance alone, and eight are tried.
    """
    dice = np.random.default_rng(7)

    profits = np.array([float(makings.profit(makings.draw(dice))) for _ in range(1200)])

    forecast = float(makings.totals["profit"])
    error = profits.std(ddof=1) / sqrt(len(profits))
    assert abs(profits.mean() - forecast) < 3 * error
    # Where nothing fails it is another number: what failures cost is tried as well.
    assert profits.max() - forecast > 5 * error


@pytest.mark.parametrize("makings", BENCH, indirect=True)
@pytest.mark.parametrize("seed", range(2))
def test_a_making_by_hand_is_what_the_services_make_of_it(makings, seed):
    drawn = makings.draw(np.random.default_rng(seed))

    makings.make(drawn)

    (row,) = hindsight(makings.studio)
    assert abs(F(row.actual.profit) - makings.profit(drawn)) < F(1, 1000)
