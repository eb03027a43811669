"""One estimate among 500 logged pours, and a table of 200 sizes, beside scipy's Cholesky.

The floor is the same posterior computed straight: the kernel written out in numpy, `cho_factor` and
`cho_solve` on the same matrices. It doubts no pour, looks for no fall and builds no answer. Printed
beside it, without a limit: the same with the estimator's own, quicker covariance.
"""

from math import exp, log

import numpy as np
import pytest
from scipy.linalg import cho_factor, cho_solve
from threadpoolctl import threadpool_limits

from pricing.estimating import coverage
from pricing.estimating.coverage import posterior
from pricing.estimating.coverage.kernel import Cells, covariance
from tests.benchmarks.turns import measured

POURS = 500
ROUNDS = 25
FILM_MM = {"bloom": 3.0, "swipe": 1.6, "flip-cup": 0.5, "ring-pour": 0.5}


def logged(count=POURS, layer="base", spilled=0.02):
    """Observations of one layer: common practice and so many own pours, some of them spilled."""
    draw = np.random.default_rng(3)
    own = []
    for technique in draw.choice(list(FILM_MM), count):
        area_mm2 = exp(draw.uniform(log(8e3), log(3e5)))
        film_mm = FILM_MM[str(technique)] * exp(draw.normal(0.1, 0.17))
        if draw.random() < spilled:
            film_mm *= 3
        volume_ml = area_mm2 * film_mm / 1000
        own.append(coverage.Observation(str(technique), layer, area_mm2, volume_ml))
    return [*(one for one in coverage.common_practice() if one.layer == layer), *own]


def straight(observations, settings, technique, areas_mm2, quick=False):
    """Return medians and spreads by the textbook, without a robust treatment."""
    s = settings
    x = 0.5 * np.log(np.array([one.wetted_area_mm2 for one in observations]) / np.pi)
    t = np.array([coverage.TECHNIQUES.index(one.technique) for one in observations])
    own = np.array([one.own for one in observations])
    y = np.log([one.volume_ml * 1000 / one.wetted_area_mm2 for one in observations])
    given = np.array([one.noise or 0.0 for one in observations])
    noise = np.where(own, s.session_sd**2 + s.piece_sd**2, given**2)

    def kernel(xa, ta, owna, xb, tb, ownb):
        alike = ta[:, None] == tb[None, :]
        shape = np.exp(-0.5 * ((xa[:, None] - xb[None, :]) / s.length) ** 2) * (
            s.shared_sd**2 + alike * s.own_sd**2
        )
        both = owna[:, None] & ownb[None, :]
        hand = both * (s.hand_sd**2 + alike * s.knack_sd**2)
        return shape + alike * s.level_sd**2 + hand

    places = Cells(x, t, own)
    matrix = covariance(places, places, s) if quick else kernel(x, t, own, x, t, own)
    matrix[np.diag_indices_from(matrix)] += noise
    factor = cho_factor(matrix, lower=True, overwrite_a=True, check_finite=False)
    asked = 0.5 * np.log(np.array(areas_mm2) / np.pi)
    which = np.full(asked.size, coverage.TECHNIQUES.index(technique))
    near = kernel(asked, which, np.ones(asked.size, bool), x, t, own)
    level = y[~own].mean()
    mean = level + near @ cho_solve(factor, y - level, check_finite=False)
    prior = s.shared_sd**2 + s.own_sd**2 + s.level_sd**2 + s.hand_sd**2 + s.knack_sd**2
    variance = prior - np.einsum("mn,nm->m", near, cho_solve(factor, near.T, check_finite=False))
    return mean, variance + s.session_sd**2 + s.piece_sd**2


def medians_of(*calls, most):
    """Return the median processor time of each call, [s].

    The first may take ``most`` times what the second does. On one thread, so that a neighbour on
    the other core does not decide.
    """
    with threadpool_limits(1):
        limits = [(0, 1, most)]
        return measured(*calls, limits=limits, rounds=ROUNDS, clock="processor").medians


@pytest.mark.benchmark
@pytest.mark.parametrize("spilled", [0.0, 0.02])
def test_one_estimate_among_500_pours_beside_the_bare_cholesky(spilled, capsys):
    observations = logged(spilled=spilled)
    settings = coverage.Settings()

    def ours():
        return coverage.Estimator(observations).forecast("bloom", "base", 72_000)

    def floor():
        return straight(observations, settings, "bloom", [72_000])

    def quick():
        return straight(observations, settings, "bloom", [72_000], quick=True)

    ours_s, floor_s, quick_s = medians_of(ours, floor, quick, most=1.5)

    with capsys.disabled():
        print(
            f"\n{POURS} pours, {spilled:.0%} spilled: estimate {ours_s * 1e3:.1f} ms, bare "
            f"Cholesky {floor_s * 1e3:.1f} ms, ratio {ours_s / floor_s:.2f} (with the quicker "
            f"covariance {quick_s * 1e3:.1f} ms, {ours_s / quick_s:.2f})"
        )
    if not spilled:
        mean, variance = (float(one[0]) for one in floor())
        assert ours().ln_median == pytest.approx(mean + log(72.0), abs=0.01)
        assert ours().ln_sd ** 2 == pytest.approx(variance, rel=0.01)


@pytest.mark.benchmark
def test_a_table_of_200_sizes_beside_one_estimate(capsys, monkeypatch):
    observations = logged()
    areas = np.geomspace(5_000, 1_500_000, 50)
    cells = [
        (technique, "base", float(area), 1)
        for technique in ("bloom", "swipe", "flip-cup", "ring-pour")
        for area in areas
    ]

    def table():
        return coverage.Estimator(observations).forecast_many(cells)

    def one():
        return coverage.Estimator(observations).forecast("bloom", "base", 72_000)

    def each():
        return [coverage.Estimator(observations).forecast(*cell) for cell in cells[:10]]

    table_s, one_s, each_s = medians_of(table, one, each, most=3)

    with capsys.disabled():
        print(
            f"\n200 sizes: {table_s * 1e3:.1f} ms, {table_s / one_s:.2f} × one estimate; one at a "
            f"time they would take {each_s * 20e3:.0f} ms"
        )
    factored = []

    def counted(*args, **kwargs):
        factored.append(args[0].shape)
        return cho_factor(*args, **kwargs)

    monkeypatch.setattr(posterior, "cho_factor", counted)
    assert len(table()) == 200
    assert factored == [(len(observations), len(observations))]
