"""The estimator beside scikit-learn, a textbook's formulas written out, scipy and simulation.

C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for Machine Learning" (2006), chapter 2:
mean = k (K + N)⁻¹ y and covariance = k** − k (K + N)⁻¹ kᵀ. Here with the inverse, term by term.
"""

from dataclasses import replace
from math import exp, log, sqrt

import numpy as np
import pytest
from scipy import optimize, stats
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel

from pricing.estimating import coverage
from pricing.estimating.coverage.fitting import PRIOR_SD, Surprise, fit
from pricing.estimating.coverage.forecast import Part
from pricing.estimating.coverage.posterior import SLIP_DENSITY, Posterior

SETTINGS = coverage.Settings()
AREAS_MM2 = np.geomspace(2_000, 2_000_000, 25)
FILM_MM = {"bloom": 3.0, "swipe": 1.8, "straight-pour": 0.5}


def x_of(areas_mm2):
    return 0.5 * np.log(np.asarray(areas_mm2) / np.pi)


def own_pours(seed, count=6, layers=("base", "colours"), **more):
    """Pours of two layers whose luck is half their own."""
    draw = np.random.default_rng(seed)
    pours = []
    for key, technique in enumerate(draw.choice(list(FILM_MM), count)):
        area_mm2 = exp(draw.uniform(log(8e3), log(3e5)))
        several, sides = int(draw.integers(1, 5)), float(draw.uniform(0, 0.5))
        for layer in layers:
            film_mm = FILM_MM[str(technique)] * exp(draw.normal(0.3, 0.25))
            pours.append(
                coverage.Observation(
                    str(technique),
                    layer,
                    area_mm2,
                    area_mm2 * film_mm / 1000,
                    count=several,
                    key=key,
                    side_share=sides,
                    **more,
                )
            )
    return pours


def height(one):
    return log(one.volume_ml * 1000 / one.wetted_area_mm2) + 0.25 * one.side_share


def mix(share, a, b):
    return 1 if a.layer == b.layer else share


def leaning(size):
    return min(max(size - 4.6, -2.5), 2.5)


def alike(a, b, between, s=SETTINGS):
    """The covariance of two pours' ln(thickness) but for luck, ``between`` pours apart."""
    near = exp(-((a.size - b.size) ** 2) / (2 * s.length**2)) * mix(0.7, a, b)
    kin = (a.technique, a.base) == (b.technique, b.base)
    total = s.shared_sd**2 * near + s.side_sd**2 * a.side_share * b.side_share
    if kin:
        total += s.curve_sd**2 * near + s.level_sd**2 * (a.layer == b.layer)
        total += s.lean_sd**2 * leaning(a.size) * leaning(b.size) * mix(0.7, a, b)
    if a.own and b.own:
        fading = s.fade_sd**2 * exp(-between / s.memory)
        total += mix(0.8, a, b) * (s.hand_sd**2 + fading)
        if kin:
            total += s.own_sd**2 * near + s.knack_sd**2 * mix(0.3, a, b)
    return total


def luck(a, b, s=SETTINGS):
    """The covariance of what is no pour's to foresee, and of what is wrong in a fact."""
    if a.own and b.own:
        if a.key != b.key:
            return 0.0
        return mix(s.alike, a, b) * (s.session_sd**2 + s.piece_sd**2 / a.count)
    total = a.noise**2 if a is b else 0.0
    if not (a.own or b.own) and a.rule and a.rule == b.rule:
        kin = (a.technique, a.base, a.layer) == (b.technique, b.base, b.layer)
        total += s.rule_sd**2 * kin
    return total


def matrix(of, rows, columns):
    return np.array([[of(a, b) for b in columns] for a in rows])


def apart(a, b):
    return abs((a.key if a.own else 0) - (b.key if b.own else 0))


def written_out(observations, asked, raised=0.0):
    """Return mean and covariance of ln(thickness) of the layers asked, by the textbook."""
    common = [one for one in observations if not one.own]
    means = {
        layer: np.mean([height(one) for one in common if one.layer == layer])
        for layer in coverage.LAYERS
    }

    def pairs(a, b):
        return alike(a, b, apart(a, b))

    big = matrix(pairs, observations, observations) + matrix(luck, observations, observations)
    inverse = np.linalg.inv(big + np.diag(np.zeros(len(big)) + raised))
    small = matrix(pairs, asked, observations)
    values = np.array([height(one) - means[one.layer] for one in observations])
    prior = matrix(pairs, asked, asked) + matrix(luck, asked, asked)
    level = np.array([means[one.layer] - 0.25 * one.side_share for one in asked])
    return level + small @ inverse @ values, prior - small @ inverse @ small.T, values @ inverse


def asked_as(line, key):
    return [
        coverage.Observation(
            line.technique,
            layer,
            line.wetted_area_mm2,
            1.0,
            count=line.count,
            key=key,
            side_share=line.side_share,
            base=line.base,
        )
        for layer in coverage.LAYERS_OF[line.technique]
    ]


@pytest.mark.parametrize(("technique", "layer"), [("blow-out", "base"), ("bloom", "colours")])
def test_one_techniques_practice_equals_scikit_learns_regressor(technique, layer):
    # Facts without sides and each by itself: scikit-learn knows no error that rows share.
    rows = [
        replace(row, rule="", side_share=0.0)
        for row in coverage.common_practice()
        if (row.technique, row.layer) == (technique, layer)
    ]
    others = [
        replace(rows[0], layer=other, noise=1e6)  # so that every layer can be asked for
        for other in coverage.LAYERS_OF[technique]
        if other != layer
    ]
    values = np.array([height(row) for row in rows])
    s = replace(SETTINGS, lean_sd=0.0)  # which scikit-learn has no kernel for
    kernel = ConstantKernel(s.level_sd**2, "fixed") + ConstantKernel(
        s.shared_sd**2 + s.curve_sd**2, "fixed"
    ) * RBF(s.length, "fixed")
    reference = GaussianProcessRegressor(
        kernel, alpha=np.array([row.noise**2 for row in rows]), optimizer=None
    )
    reference.fit(x_of([row.wetted_area_mm2 for row in rows])[:, None], values - values.mean())
    means, sds = reference.predict(x_of(AREAS_MM2)[:, None], return_std=True)

    estimator = coverage.Estimator([*rows, *others], s)
    jobs = estimator.jobs([coverage.Line(technique, area) for area in AREAS_MM2])
    parts = [job.layer(layer).parts[0] for job in jobs]

    got = [one.ln_median - log(area / 1000) for one, area in zip(parts, AREAS_MM2, strict=True)]
    assert got == pytest.approx(means + values.mean(), abs=1e-9)
    # Hand, own curve and luck are on every forecast and in no common practice: they widen it.
    own = sum(
        getattr(s, name) ** 2
        for name in ("own_sd", "hand_sd", "knack_sd", "fade_sd", "session_sd", "piece_sd")
    )
    assert [one.ln_scale for one in parts] == pytest.approx(np.sqrt(sds**2 + own), abs=1e-7)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("technique", ["bloom", "swipe", "straight-pour", "blow-out"])
def test_practice_and_own_pours_equal_the_textbook_written_out(seed, technique):
    observations = [*coverage.common_practice(), *own_pours(seed)]
    estimator = coverage.Estimator(observations, SETTINGS)
    lines = [coverage.Line(technique, 60_000.0, 3, 0.3), coverage.Line("bloom", 9_000.0)]
    after = 6

    job = estimator.job(lines)

    asked = [one for number, line in enumerate(lines) for one in asked_as(line, after + number)]
    mean, covariance, values = written_out(observations, asked, estimator.learnt.raised)
    volume = np.array([log(one.wetted_area_mm2 * one.count / 1000) for one in asked])
    assert job.means == pytest.approx(mean + volume, abs=1e-9)
    # The scale of all variances: of Student's process, six beforehand, then what the pours say.
    practice = coverage.common_practice()
    heights = np.array([height(one) for one in observations])
    layers = np.array([one.layer for one in observations])
    common = np.array([not one.own for one in observations])
    for layer in coverage.LAYERS:
        heights[layers == layer] -= heights[(layers == layer) & common].mean()
    before = written_out(practice, asked)[2] @ heights[common]
    honest = (1 - estimator.learnt.chances[~common]).sum()
    scale = (12 + values @ heights - before) / (12 + honest)
    assert job.freedom == pytest.approx(12 + honest)
    assert job.covariance == pytest.approx(scale * covariance, abs=1e-9)


def test_weights_are_what_each_value_counts_for():
    observations = [*coverage.common_practice(), *own_pours(5)]
    estimator = coverage.Estimator(observations, SETTINGS)
    raised = estimator.learnt.raised
    influences = estimator.why("bloom", "base", 50_000, top=500)
    asked = asked_as(coverage.Line("bloom", 50_000), 6)[:1]

    before = written_out(observations, asked, raised)[0][0]
    for influence in [one for one in influences if one.observation.own][:4]:
        moved = [
            replace(one, volume_ml=one.volume_ml * exp(0.01))
            if one is influence.observation
            else one
            for one in observations
        ]
        after = written_out(moved, asked, raised)[0][0]
        assert influence.weight == pytest.approx((after - before) / 0.01, abs=1e-9)
    assert sum(one.share for one in influences) == pytest.approx(1)


def spilled(seed):
    """An estimator of pours, one of whose cups took ten times as much."""
    pours = own_pours(seed)
    pours[4] = replace(pours[4], volume_ml=10 * pours[4].volume_ml)
    return coverage.Estimator([*coverage.common_practice(), *pours], SETTINGS)


@pytest.mark.parametrize("seed", range(3))
def test_what_a_pour_left_out_is_expected_to_take_equals_asking_without_it(seed):
    estimator = spilled(seed)
    places, values = estimator.seen.places, estimator.seen.values
    own = np.flatnonzero(places.own > 0)

    residuals, variances = Posterior(places, values, SETTINGS).left_out()

    for key in range(6):
        left = own[places.pours[own] == key]
        rest = np.setdiff1d(np.arange(values.size), left)
        without = Posterior(places[rest], values[rest], SETTINGS)
        mean, halves, _ = without.mean_and_halves(places[left])
        observations = [estimator.observations[row] for row in left]
        prior = [alike(one, one, 0) + luck(one, one) for one in observations]
        spread = np.array(prior) - np.einsum("nm,nm->m", halves, halves)
        assert residuals[left] == pytest.approx(values[left] - mean, abs=1e-9)
        assert variances[left] == pytest.approx(spread, abs=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_a_likely_slip_counts_for_as_much_as_it_is_likely_honest(seed):
    estimator = spilled(seed)
    learnt, own = estimator.learnt, np.flatnonzero(estimator.seen.places.own > 0)
    residuals, variances = Posterior(
        estimator.seen.places, estimator.seen.values, SETTINGS, learnt.raised
    ).left_out()

    # Bayes' rule between the pour's own density and a flat one; rounds settle to 1 %.
    honest = stats.norm.pdf(residuals[own], scale=np.sqrt(variances[own]))
    chances = SLIP_DENSITY / (SLIP_DENSITY + honest)
    assert learnt.chances[own] == pytest.approx(np.minimum(chances, 0.999), abs=0.02)
    worst = int(np.argmax(learnt.chances))
    assert learnt.chances[worst] > 0.9
    assert estimator.observations[worst].volume_ml == max(
        one.volume_ml for one in estimator.observations if one.own and one.key == 2
    )
    # A gain is the share of the prior variance in the whole: v / (v + n), n its noise.
    gain = 1 / (variances + learnt.raised)
    assert gain[own] * variances[own] == pytest.approx(1 - learnt.chances[own], abs=0.02)


@pytest.mark.parametrize("seed", range(3))
def test_the_gradient_of_the_fit_is_its_difference(seed):
    estimator = spilled(seed)
    seen = estimator.seen
    surprise = Surprise(seen.places, seen.values, SETTINGS, estimator.learnt.raised)
    at = np.random.default_rng(seed).normal(0, 0.7, len(PRIOR_SD))

    found = surprise(at)[1]

    reference = optimize.approx_fprime(at, lambda one: surprise(one)[0], 1e-6)
    assert found == pytest.approx(reference, abs=1e-3)


def test_what_is_fitted_is_the_most_probable():
    places, values = (one := spilled(1)).seen.places, one.seen.values
    raised = one.learnt.raised
    settings, at = fit(places, values, SETTINGS, raised, np.zeros(len(PRIOR_SD)))
    surprise = Surprise(places, values, SETTINGS, raised)

    # Without the gradient, anywhere within four of the priors' deviations.
    least = optimize.differential_evolution(
        lambda one: surprise(one)[0], [(-4, 4)] * len(PRIOR_SD), seed=1, tol=1e-8
    ).fun
    assert surprise(at)[0] == pytest.approx(least, abs=0.001)
    for name, sd in PRIOR_SD.items():
        middle, found = getattr(SETTINGS, name), getattr(settings, name)
        if name == "alike":
            middle, found = middle / (1 - middle), found / (1 - found)
        assert log(found / middle) == pytest.approx(at[list(PRIOR_SD).index(name)] * sd)


@pytest.mark.parametrize("share", [0.001, 0.1, 0.25, 0.5, 0.9, 0.95, 0.999])
def test_quantiles_equal_scipys(share):
    forecast = coverage.Forecast("bloom", 1, "base", (Part(1.0, log(350.0), 0.37),), 7.0, False)

    reference = exp(log(350.0) + 0.37 * stats.t(7).ppf(share))

    assert forecast.quantile(share) == pytest.approx(reference, rel=1e-9)
    assert forecast.median == pytest.approx(350)


@pytest.mark.parametrize("share", [0.05, 0.1, 0.5, 0.62, 0.9])
def test_quantiles_of_a_mixture_are_where_its_chances_add_up(share):
    parts = Part(0.3, log(40.0), 0.2), Part(0.7, log(240.0), 0.3)
    forecast = coverage.Forecast("ring-pour", 1, "base", parts, 9.0, False)

    at = log(forecast.quantile(share))

    below = [stats.t(9).cdf((at - one.ln_median) / one.ln_scale) for one in parts]
    assert 0.3 * below[0] + 0.7 * below[1] == pytest.approx(share, abs=1e-9)


def a_job(*lines, seed=2):
    return coverage.Estimator([*coverage.common_practice(), *own_pours(seed, 12)], SETTINGS).job(
        lines
    )


def drawn(job, several, seed=3):
    """Volumes of each cell, of the job's own distribution, without its longer tails."""
    draw = np.random.default_rng(seed)
    return np.exp(draw.multivariate_normal(job.means, job.covariance, several))


def test_a_total_has_the_mean_and_spread_of_its_sum():
    job = a_job(coverage.Line("bloom", 60_000.0, 2), coverage.Line("swipe", 20_000.0))
    sums = drawn(job, 400_000).sum(axis=1)

    part = replace(job, freedom=1e9).total().parts[0]

    assert exp(part.ln_median + part.ln_scale**2 / 2) == pytest.approx(sums.mean(), rel=0.005)
    spread = exp(part.ln_scale**2) - 1
    assert sqrt(spread) == pytest.approx(sums.std() / sums.mean(), rel=0.02)
    for share in (0.1, 0.5, 0.9):  # lognormal sums are near lognormal
        quantile = replace(job, freedom=1e9).total().quantile(share)
        assert quantile == pytest.approx(np.quantile(sums, share), rel=0.02)


def test_a_total_over_a_base_not_told_is_over_one_or_the_other():
    job = a_job(coverage.Line("ring-pour", 90_000.0), coverage.Line("bloom", 20_000.0))
    volumes = drawn(job, 400_000)
    flooded = np.random.default_rng(4).random(400_000) < job.cells[1].chance
    base = np.array([cell.base for cell in job.cells])
    line = np.array([cell.line for cell in job.cells])
    poured = (line == 1) | (base == flooded[:, None])

    part = job.total().parts[0]

    sums = (volumes * poured).sum(axis=1)
    assert exp(part.ln_median + part.ln_scale**2 / 2) == pytest.approx(sums.mean(), rel=0.005)
    assert sqrt(exp(part.ln_scale**2) - 1) == pytest.approx(sums.std() / sums.mean(), rel=0.02)


@pytest.mark.parametrize("cups", [1, 2, 6])
@pytest.mark.parametrize("alikeness", [0.0, 0.3, 0.8])
@pytest.mark.parametrize("freedom", [6.0, 30.0])
def test_enough_for_all_cups_equals_scipys_multivariate_t(cups, alikeness, freedom):
    chance = coverage.enough_together(cups, alikeness, freedom, 0.9)

    shape = np.full((cups, cups), alikeness) + np.eye(cups) * (1 - alikeness)
    reach = np.full(cups, stats.t(freedom).ppf(chance))
    together = stats.multivariate_t(shape=shape, df=freedom, seed=1).cdf(reach)
    assert together == pytest.approx(0.9, abs=0.004)


def test_more_cups_and_less_alike_need_more():
    least = [coverage.enough_together(cups, 0.5, 20) for cups in (1, 2, 4, 9)]

    assert least[0] == 0.9
    assert sorted(least) == least
    assert coverage.enough_together(3, 0.2) > coverage.enough_together(3, 0.9) > 0.9
