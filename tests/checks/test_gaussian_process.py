"""The estimator beside scikit-learn, a textbook's formulas written out, and simulation.

C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for Machine Learning" (2006), chapter 2:
mean = k (K + N)⁻¹ y and variance = k** − k (K + N)⁻¹ kᵀ. Here with the inverse, term by term.
"""

from dataclasses import replace
from math import exp, log

import numpy as np
import pytest
from scipy.stats import lognorm
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel

from pricing.estimating import coverage
from pricing.estimating.coverage.kernel import (
    Cells,
    covariance,
    mean_of_pieces,
    prior_variance,
    size_slope,
)
from pricing.estimating.coverage.posterior import LIMIT, Posterior

SETTINGS = coverage.Settings()
# Single pieces without noise of their own: a forecast's spread is then the posterior's alone.
BARE = replace(SETTINGS, session_sd=1e-9, piece_sd=1e-9)
AREAS_MM2 = np.geomspace(2_000, 2_000_000, 25)


def x_of(areas_mm2):
    return 0.5 * np.log(np.asarray(areas_mm2) / np.pi)


def thickness(one):
    return log(one.volume_ml * 1000 / one.wetted_area_mm2)


FILM_MM = {"bloom": 3.0, "swipe": 1.8, "flip-cup": 0.5}


def own_pours(seed, count=12, layer="base"):
    draw = np.random.default_rng(seed)
    pours = []
    for technique in draw.choice(list(FILM_MM), count):
        area_mm2 = exp(draw.uniform(log(8e3), log(3e5)))
        film_mm = FILM_MM[str(technique)] * exp(draw.normal(0.3, 0.3))
        several = int(draw.integers(1, 5))
        volume_ml = area_mm2 * film_mm / 1000
        pours.append(
            coverage.Observation(str(technique), layer, area_mm2, volume_ml, count=several)
        )
    return pours


def written_out(observations, settings, technique, layer, area_mm2):
    """Return mean and variance of ln(thickness) by the textbook, one pair of pieces at a time."""
    seen = [one for one in observations if one.layer == layer]
    common = [thickness(one) for one in seen if not one.own]
    level = np.mean(common)

    def k(t1, x1, own1, t2, x2, own2):
        near = exp(-((x1 - x2) ** 2) / (2 * settings.length**2))
        total = settings.shared_sd**2 * near
        if t1 == t2:
            total += settings.own_sd**2 * near + settings.level_sd**2
        if own1 and own2:
            total += settings.hand_sd**2
            if t1 == t2:
                total += settings.knack_sd**2
        return total

    def place(one):
        return one.technique, float(x_of(one.wetted_area_mm2)), one.own

    asked = technique, float(x_of(area_mm2)), True
    noise, y = [], []
    for one in seen:
        # Fenton (1960): the mean of lognormal pieces has the variance and the mean of
        # exp(N(shift, variance)), where one piece is exp(N(0, sd²)).
        variance = log(1 + (exp(settings.piece_sd**2) - 1) / one.count)
        shift = (settings.piece_sd**2 - variance) / 2
        noise.append(one.noise**2 if one.noise else settings.session_sd**2 + variance)
        y.append(thickness(one) - level - shift)
    big = np.array([[k(*place(a), *place(b)) for b in seen] for a in seen]) + np.diag(noise)
    small = np.array([k(*asked, *place(one)) for one in seen])
    inverse = np.linalg.inv(big)
    return level + small @ inverse @ np.array(y), k(*asked, *asked) - small @ inverse @ small


@pytest.mark.parametrize(("technique", "layer"), [("ring-pour", "base"), ("bloom", "colours")])
def test_one_techniques_practice_equals_scikit_learns_regressor(technique, layer):
    rows = [
        row
        for row in coverage.common_practice()
        if (row.technique, row.layer) == (technique, layer)
    ]
    values = np.array([thickness(row) for row in rows])
    s = BARE
    # The hand is on every forecast and in no common practice: it widens, and moves nothing.
    kernel = ConstantKernel(s.level_sd**2, "fixed") + ConstantKernel(
        s.shared_sd**2 + s.own_sd**2, "fixed"
    ) * RBF(s.length, "fixed")
    reference = GaussianProcessRegressor(
        kernel, alpha=np.array([row.noise**2 for row in rows]), optimizer=None
    )
    reference.fit(x_of([row.wetted_area_mm2 for row in rows])[:, None], values - values.mean())
    means, sds = reference.predict(x_of(AREAS_MM2)[:, None], return_std=True)

    estimator = coverage.Estimator(rows, BARE)
    forecasts = estimator.forecast_many([(technique, layer, area, 1) for area in AREAS_MM2])

    got = [one.ln_median - log(area / 1000) for one, area in zip(forecasts, AREAS_MM2, strict=True)]
    assert got == pytest.approx(means + values.mean(), abs=1e-9)
    hand = s.hand_sd**2 + s.knack_sd**2
    assert [one.ln_sd for one in forecasts] == pytest.approx(np.sqrt(sds**2 + hand), abs=1e-7)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("technique", ["bloom", "swipe", "flip-cup", "blow-out"])
def test_practice_and_own_pours_equal_the_textbook_written_out(seed, technique):
    # No pour is doubted here: with so wide a noise all lie within the limit.
    settings = replace(SETTINGS, session_sd=0.6, hand_sd=0.5)
    observations = [*coverage.common_practice(), *own_pours(seed)]
    estimator = coverage.Estimator(observations, settings)

    assert all(one.trust == 1 for one in estimator.why(technique, "base", 50_000, top=500))
    for area in AREAS_MM2[6:20]:
        mean, variance = written_out(observations, settings, technique, "base", area)
        forecast = estimator.forecast(technique, "base", area)

        assert forecast.ln_median == pytest.approx(mean + log(area / 1000), abs=1e-9)
        spread = variance + settings.session_sd**2 + settings.piece_sd**2
        assert forecast.ln_sd**2 == pytest.approx(spread, abs=1e-9)


def test_weights_are_what_each_value_counts_for():
    settings = replace(SETTINGS, session_sd=0.6)
    observations = [*coverage.common_practice(), *own_pours(5)]
    influences = coverage.Estimator(observations, settings).why("bloom", "base", 50_000, top=500)

    before = written_out(observations, settings, "bloom", "base", 50_000)[0]
    for influence in [one for one in influences if one.observation.own][:4]:
        moved = [
            replace(one, volume_ml=one.volume_ml * exp(0.01))
            if one is influence.observation
            else one
            for one in observations
        ]
        after = written_out(moved, settings, "bloom", "base", 50_000)[0]
        assert influence.weight == pytest.approx((after - before) / 0.01, abs=1e-9)
    assert sum(one.share for one in influences) == pytest.approx(1)


def problem(seed, count=40):
    draw = np.random.default_rng(seed)
    places = Cells(
        draw.uniform(3.5, 6, count), draw.integers(0, 6, count), draw.random(count) < 0.6
    )
    values = draw.normal(0, 0.4, count)
    values[::7] += 2.5  # spilled cups, and misread ones
    noise = draw.uniform(0.01, 0.09, count)
    return places, noise, values, covariance(places, places, SETTINGS)


@pytest.mark.parametrize("seed", range(6))
def test_raised_noise_equals_factoring_anew_with_that_noise(seed):
    places, noise, values, prior = problem(seed)
    asked = Cells(np.linspace(3, 7, 9), np.arange(9) % 6, np.ones(9, dtype=bool))
    near = covariance(asked, places, SETTINGS)

    posterior = Posterior(prior.copy(), noise, values, places.own)

    assert (posterior.trust < 1).sum() >= 2
    assert (posterior.trust[~places.own] == 1).all()
    inverse = np.linalg.inv(prior + np.diag(noise / posterior.trust))
    assert posterior.mean(near) == pytest.approx(near @ inverse @ values, abs=1e-9)
    own = prior_variance(asked, SETTINGS)
    spread = own - np.einsum("mn,nk,mk->m", near, inverse, near)
    assert posterior.variance(near, own) == pytest.approx(spread, abs=1e-9)
    assert posterior.weights(near) == pytest.approx(near @ inverse, abs=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_a_doubted_pour_pulls_as_hard_as_one_at_the_limit(seed):
    # Huber (1964): beyond c standard deviations the influence stays at c.
    places, noise, values, prior = problem(seed)

    posterior = Posterior(prior.copy(), noise, values, places.own)

    residuals = values - posterior.mean(prior)
    pull = np.abs(residuals) * posterior.trust / np.sqrt(noise)
    doubted = posterior.trust < 1
    assert pull[doubted & (posterior.trust > 0.021)] == pytest.approx(LIMIT, rel=0.01)
    assert (np.abs(residuals) / np.sqrt(noise))[places.own & ~doubted].max() < LIMIT * 1.01


def test_the_slope_of_the_covariance_is_its_difference():
    places, *_ = problem(1)
    step = 1e-6

    def at(shift):
        moved = Cells(places.sizes + shift, places.techniques, places.own)
        return covariance(moved, places, SETTINGS)

    slope = size_slope(places, places, SETTINGS)

    assert slope == pytest.approx((at(step) - at(-step)) / (2 * step), abs=1e-8)


@pytest.mark.parametrize("piece_sd", [0.05, 0.12, 0.3])
@pytest.mark.parametrize("count", [1, 2, 4, 12])
def test_the_mean_of_several_pieces_equals_simulation(piece_sd, count):
    draw = np.random.default_rng(20)
    means = np.exp(draw.normal(0, piece_sd, (200_000, count))).mean(axis=1)
    shift, variance = mean_of_pieces(piece_sd, count)

    for share in (0.1, 0.5, 0.9):
        expected = lognorm(s=np.sqrt(variance), scale=exp(shift)).ppf(share)
        assert np.quantile(means, share) == pytest.approx(expected, rel=0.01)
    assert means.mean() == pytest.approx(exp(piece_sd**2 / 2), rel=0.002)


def test_several_pieces_take_so_many_times_as_much_and_vary_less():
    estimator = coverage.Estimator(coverage.common_practice())
    one, four = (estimator.forecast("bloom", "base", 13_000, count) for count in (1, 4))
    shift, variance = mean_of_pieces(SETTINGS.piece_sd, 4)

    assert four.median == pytest.approx(4 * exp(shift) * one.median, rel=1e-12)
    assert one.ln_sd**2 - four.ln_sd**2 == pytest.approx(SETTINGS.piece_sd**2 - variance)
    assert mean_of_pieces(SETTINGS.piece_sd, 1) == pytest.approx((0, SETTINGS.piece_sd**2))


@pytest.mark.parametrize("share", [0.001, 0.1, 0.25, 0.5, 0.9, 0.95, 0.999])
def test_quantiles_equal_scipys_lognormal(share):
    forecast = coverage.Forecast("bloom", "base", 1, log(350.0), 0.37, False)
    reference = lognorm(s=0.37, scale=350.0)

    assert forecast.quantile(share) == pytest.approx(reference.ppf(share), rel=1e-12)
    assert forecast.median == pytest.approx(reference.median())
    assert (forecast.low, forecast.high) == pytest.approx((reference.ppf(0.1), reference.ppf(0.9)))
    if share >= 0.5:
        mixed = coverage.to_mix(forecast, share, 0.05)
        assert reference.cdf(0.95 * mixed) == pytest.approx(share)
