"""Luck and what size does are fitted from the first pour on, each towards what its prior says."""

from math import exp, log, sqrt

import numpy as np
import pytest

from pricing.estimating import coverage
from pricing.estimating.coverage.fitting import FARTHEST, PRIOR_SD

COMMON = coverage.common_practice()
USUAL = coverage.Settings()


def synthetic(count, noise, seed=4, alike=0.5, layers=("base",)):
    """Single pieces around what common practice estimates, with a known noise."""
    draw = np.random.default_rng(seed)
    asked, made = coverage.Estimator(COMMON), []
    for key, technique in enumerate(draw.choice(["bloom", "straight-pour"], count)):
        area = float(exp(draw.uniform(log(1e4), log(2e5))))
        shared = draw.normal(0, noise)
        for layer in layers:
            luck = sqrt(alike) * shared + sqrt(1 - alike) * draw.normal(0, noise)
            middle = asked.forecast(str(technique), layer, area).median
            made.append(
                coverage.Observation(str(technique), layer, area, middle * exp(0.1 + luck), key=key)
            )
    return made


def fitted(*pours):
    return coverage.Estimator([*COMMON, *pours]).settings


def luck_sd(settings):
    return sqrt(settings.session_sd**2 + settings.piece_sd**2)


def test_without_pours_everything_is_as_its_prior_says():
    assert fitted() == USUAL


def test_one_pour_moves_little_and_every_pour_something():
    found = [luck_sd(fitted(*synthetic(40, 0.05)[:count])) for count in (0, 1, 3, 10, 40)]

    assert found[1] == pytest.approx(found[0], rel=0.15)
    assert sorted(found, reverse=True) == found
    assert found[-1] < 0.5 * found[0]


@pytest.mark.parametrize("noise", [0.08, 0.15, 0.25])
def test_the_noise_of_many_pours_is_found_again(noise):
    settings = fitted(*synthetic(90, noise))

    # Some eighty degrees of freedom and a prior: within a fifth.
    assert luck_sd(settings) == pytest.approx(noise, rel=0.2)
    for name in ("level_sd", "shared_sd", "curve_sd", "lean_sd", "hand_sd", "knack_sd", "rule_sd"):
        assert getattr(settings, name) == getattr(USUAL, name)  # one studio cannot tell them


@pytest.mark.parametrize(("alike", "least", "most"), [(0.0, 0.0, 0.35), (1.0, 0.7, 1.0)])
def test_how_alike_the_layers_luck_is_is_found(alike, least, most):
    settings = fitted(*synthetic(60, 0.15, alike=alike, layers=("base", "colours")))

    assert least < settings.alike < most


def test_a_spilled_cup_does_not_pass_for_a_careless_hand():
    logged = synthetic(40, 0.1)
    spilled = [
        *logged[:-1],
        coverage.Observation(
            logged[-1].technique,
            "base",
            logged[-1].wetted_area_mm2,
            4 * logged[-1].volume_ml,
            key=39,
        ),
    ]

    assert luck_sd(fitted(*spilled)) < 1.3 * luck_sd(fitted(*logged))


@pytest.mark.parametrize("wildness", [0.001, 3.0])
def test_what_is_fitted_stays_within_reach_of_its_prior(wildness):
    settings = fitted(*synthetic(35, wildness))

    for name, sd in PRIOR_SD.items():
        middle, found = getattr(USUAL, name), getattr(settings, name)
        if name == "alike":
            middle, found = middle / (1 - middle), found / (1 - found)
        assert abs(log(found / middle)) <= FARTHEST * sd * (1 + 1e-9)


def test_slips_of_long_ago_are_still_slips():
    pours = synthetic(230, 0.1)
    early = pours[3]
    pours[3] = coverage.Observation(
        early.technique, "base", early.wetted_area_mm2, 12 * early.volume_ml, key=3
    )

    chances = coverage.Estimator([*COMMON, *pours]).slips()

    assert chances[3] > 0.9
    assert sum(chance > 0.5 for chance in chances.values()) == 1
