"""The chance that materials cost more than a quote allows for, checked by drawing lots."""

from collections import Counter
from decimal import Decimal as D

import numpy as np
import pytest
from scipy.stats import lognorm, nbinom

from pricing.costing.price import PriceError, RiskyLayer, RiskyLine, chances_above
from pricing.quoting import quotes as quoting
from tests.factories.bench import working_studio
from tests.pricing.commissions.test_commissions import add_tiles, opened
from tests.pricing.quoting.test_quote_pages import ask, paper_of, text_of

NINE_IN_TEN = 1.2815515655446004  # standard normal quantile, any table of it
PAINTS = (RiskyLayer(6, 8), RiskyLayer(4, 6), RiskyLayer(0.5, 0.9), RiskyLayer(5, 5.5))

RESIN = RiskyLayer(12, 13, is_coat=True)


def drawn(lines, size, seed=7):
    """Draw the cost of materials by lot: the second method."""
    lots = np.random.default_rng(seed)
    total = np.zeros(size)
    for line in lines:
        paint, coat = np.zeros(size), np.zeros(size)
        for layer in line.layers:
            luck = np.log(layer.high / layer.median) / NINE_IN_TEN * lots.standard_normal(size)
            (coat if layer.is_coat else paint).__iadd__(layer.median * np.exp(luck))
        coated = line.pieces + lots.negative_binomial(line.pieces, line.coat_success, size)
        poured = coated + lots.negative_binomial(coated, line.pour_success, size)
        total += (paint + line.surface) * poured / line.pieces + coat * coated / line.pieces
    return total


@pytest.mark.parametrize("amount", [6.0, 10.0, 15.0, 22.0])
def test_one_layer_is_the_lognormal_itself(amount):
    line = RiskyLine(1, 1.0, (RiskyLayer(10, 15),))
    exact = lognorm(s=np.log(1.5) / NINE_IN_TEN, scale=10).sf(amount)

    assert chances_above([line], [amount]) == pytest.approx([exact], abs=2e-5)


def test_surfaces_alone_are_the_negative_binomial_itself():
    line = RiskyLine(4, 0.8, (), 4.0)  # one each
    exact = nbinom(4, 0.8).sf([0, 1, 2])  # more than 4.5, 5.5, 6.5 in all

    assert chances_above([line], [4.5, 5.5, 6.5]) == pytest.approx(exact, abs=1e-3)


@pytest.mark.parametrize(
    "lines",
    [
        [RiskyLine(8, 0.85, PAINTS, 4.0)],
        [RiskyLine(8, 0.85, PAINTS, 4.0), RiskyLine(1, 0.6, PAINTS[:2], 7.0)],
        [RiskyLine(200, 0.9, PAINTS, 100.0)],
        [RiskyLine(8, 0.85, (*PAINTS, RESIN), 4.0, 0.9)],
        [RiskyLine(2, 0.5, (RESIN,), 3.0, 0.6), RiskyLine(4, 0.9, PAINTS, 2.0)],
    ],
)
def test_the_sum_agrees_with_drawing_lots(lines):
    size = 200_000
    costs = drawn(lines, size)
    amounts = [float(np.quantile(costs, share)) for share in (0.2, 0.5, 0.8, 0.95)]

    found = chances_above(lines, amounts)

    # Within four standard errors of the lots.
    for chance, expected in zip(found, (0.8, 0.5, 0.2, 0.05), strict=True):
        assert chance == pytest.approx(expected, abs=4 * (expected * (1 - expected) / size) ** 0.5)


def test_layers_that_are_certain_are_not_uncertain():
    line = RiskyLine(1, 1.0, (RiskyLayer(3, 3), RiskyLayer(2, 2)), 1.0)

    assert chances_above([line], [5.9, 6.1]) == pytest.approx([1, 0], abs=1e-9)


@pytest.mark.parametrize(
    ("lines", "amounts"),
    [
        ([], [1.0]),
        ([RiskyLine(1, 1.0, ())], []),
        ([RiskyLine(1, 1.0, ())], [0.0]),
        ([RiskyLine(1, 1.0, ())], [1.0, 0.0]),
        ([RiskyLine(0, 1.0, ())], [1.0]),
        ([RiskyLine(1, 0.0, ())], [1.0]),
        ([RiskyLine(1, 1.01, ())], [1.0]),
        ([RiskyLine(1, 1.0, (), 0.0, 0.0)], [1.0]),
        ([RiskyLine(1, 1.0, (RiskyLayer(2, 1),))], [1.0]),
    ],
)
def test_what_cannot_be_is_refused(lines, amounts):
    with pytest.raises(PriceError):
        chances_above(lines, amounts)


# In a quote


@pytest.fixture
def quote(db):
    bench = working_studio()
    bench.studio.techniques.update(coat_success_rate=D("0.95"))
    commission = opened(bench)
    add_tiles(bench, commission, topcoat=bench.kit)
    return quoting.draft_quote(commission=commission, by=None)


def test_a_quote_carries_its_risk(quote):
    risk = quote.frozen["risk"]
    [line] = quote.frozen["lines"]
    costs = Counter()
    for one in line["cost_lines"]:
        kind = "resin" if one["kind"] == "material" and one["label"] == "Topcoat" else one["kind"]
        costs[kind] += D(one["amount"])
    rate, coat = D(line["success_rate"]), D("0.95")
    poured = (costs["material"] + costs["surface"]) / rate

    assert D(risk["allowed"]) == pytest.approx(poured + costs["resin"] / coat)
    assert D(risk["chance_of_loss"]) <= D("0.01") < D("0.2") < D(risk["chance_over"]) < D("0.8")


def test_a_thin_margin_is_more_easily_eaten_up(quote):
    terms = {"margin": D("0.01"), "discount": D("0.20")}
    thin = quoting.draft_quote(commission=quote.commission, by=None, **terms)

    assert D(thin.frozen["risk"]["chance_of_loss"]) > D(quote.frozen["risk"]["chance_of_loss"])


def test_the_owner_reads_it_and_nobody_else(quote):
    from tests.conftest import member  # the fixtures' people

    owner, viewer = (member(quote.studio, role) for role in ("owner", "viewer"))

    assert "Chance of more materials" in text_of(ask(owner, "quote", quote))
    assert "Chance of more materials" not in text_of(ask(viewer, "quote", quote))
    assert "Chance that materials cost more" in paper_of(ask(owner, "cost-sheet-pdf", quote))
