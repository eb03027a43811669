"""Noise and lengths are fitted once there are enough pours, within bounds, and never before."""

from dataclasses import replace
from math import exp, log, sqrt

import numpy as np
import pytest

from pricing.estimating import coverage
from pricing.estimating.coverage.fitting import BOUNDS

COMMON = coverage.common_practice()


def pour(volume_ml, area_mm2, technique):
    return coverage.Observation(technique, "base", area_mm2, volume_ml)


def synthetic(count, noise, seed=4):
    """Sessions of single pieces around what common practice estimates, with a known noise."""
    draw = np.random.default_rng(seed)
    asked = coverage.Estimator(COMMON)
    made = []
    for technique in draw.choice(["bloom", "flip-cup"], count):
        area = float(exp(draw.uniform(log(1e4), log(2e5))))
        middle = asked.forecast(str(technique), "base", area).median
        made.append(pour(middle * exp(draw.normal(0.1, noise)), area, str(technique)))
    return made


def test_nothing_is_fitted_below_thirty_pours_of_a_layer():
    given_settings = coverage.Settings(length=0.9)

    assert coverage.FIT_FROM == 30
    assert coverage.fit_settings([*COMMON, *synthetic(29, 0.1)]) == coverage.Settings()
    assert coverage.fit_settings([*COMMON, *synthetic(29, 0.1)], given_settings) == given_settings
    assert coverage.fit_settings([*COMMON, *synthetic(30, 0.1)]) != coverage.Settings()


@pytest.mark.parametrize("noise", [0.08, 0.15, 0.25])
def test_the_noise_of_many_pours_is_found_again(noise):
    fitted = coverage.fit_settings([*COMMON, *synthetic(90, noise)])

    # Sixty degrees of freedom and more: within a fifth.
    assert sqrt(fitted.session_variance(1)) == pytest.approx(noise, rel=0.2)
    assert all(low <= getattr(fitted, name) <= high for name, (low, high) in BOUNDS.items())
    assert (fitted.level_sd, fitted.knack_sd) == (0.8, 0.12)  # never fitted


def test_a_spilled_cup_does_not_pass_for_a_careless_hand():
    logged = synthetic(40, 0.1)
    spilled = [*logged[:-1], replace(logged[-1], volume_ml=4 * logged[-1].volume_ml)]

    clean, doubted = (coverage.fit_settings([*COMMON, *some]) for some in (logged, spilled))

    assert doubted.session_variance(1) < 1.6 * clean.session_variance(1)


@pytest.mark.parametrize("wildness", [0.001, 3.0])
def test_what_is_fitted_stays_within_bounds(wildness):
    fitted = coverage.fit_settings([*COMMON, *synthetic(35, wildness)])

    for name, (low, high) in BOUNDS.items():
        assert low <= getattr(fitted, name) <= high
