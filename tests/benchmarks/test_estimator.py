"""One estimate among 500 logged pours, and a table of 200 sizes, beside scipy's Cholesky.

The floor is the same posterior computed straight over all pours: the covariance of the same terms
written out in numpy, `cho_factor` and `cho_solve`, and no answer built. What pours taught is known
to both: it is learnt when a pour is logged, not when one is asked about.
"""

from math import exp, log

import numpy as np
import pytest
from threadpoolctl import threadpool_limits

from pricing.estimating import coverage
from pricing.estimating.coverage import posterior
from tests.benchmarks.believed import COMMON, Believed, by_pour, furthest
from tests.benchmarks.straight import straight, straight_job
from tests.benchmarks.studios import WORLDS, Studio, line_of
from tests.benchmarks.turns import measured

POURS = 500
ROUNDS = 9
FILM_MM = {"bloom": 3.0, "swipe": 1.6, "straight-pour": 0.5, "blow-out": 0.7}


def logged(count=POURS, spilled=0.02):
    """So many pours of two layers, some of them spilled."""
    draw = np.random.default_rng(3)
    own = []
    for key, technique in enumerate(draw.choice(list(FILM_MM), count)):
        area_mm2 = exp(draw.uniform(log(8e3), log(3e5)))
        for layer in ("base", "colours"):
            film_mm = FILM_MM[str(technique)] * exp(draw.normal(0.1, 0.17))
            if draw.random() < spilled:
                film_mm *= 3
            volume_ml = area_mm2 * film_mm / 1000
            own.append(coverage.Observation(str(technique), layer, area_mm2, volume_ml, key=key))
    return by_pour(own)


def medians_of(*calls, most):
    """Return the median processor time of each call, [s].

    The first may take ``most`` times what the second does. On one thread, so that a neighbour on
    the other core does not decide.
    """
    with threadpool_limits(1):
        limits = [(0, 1, most)]
        return measured(*calls, limits=limits, rounds=ROUNDS, clock="processor").medians


LINE = coverage.Line("bloom", 72_000)


@pytest.fixture
def believed(monkeypatch):
    believed = Believed(monkeypatch)
    believed.learn(logged())
    return believed


@pytest.mark.benchmark
def test_one_estimate_among_500_pours_beside_the_bare_cholesky(believed, capsys):
    observations, trust = believed.all, believed.trust

    def ours():
        return believed.estimator.job([LINE])

    def floor():
        return straight(observations, trust, LINE)

    ours_s, floor_s = medians_of(ours, floor, most=1.5)

    with capsys.disabled():
        print(
            f"\n{POURS} pours: estimate {ours_s * 1e3:.0f} ms, bare Cholesky "
            f"{floor_s * 1e3:.0f} ms, ratio {ours_s / floor_s:.2f}"
        )
    mean, covariance = floor()
    job = ours()
    assert job.means == pytest.approx(mean + log(72.0), abs=1e-4)
    scale = job.covariance / covariance  # the scale alone: one number, near one
    assert scale == pytest.approx(scale[0, 0], rel=1e-3)
    assert 0.9 < scale[0, 0] < 1.1


@pytest.mark.benchmark
def test_a_table_of_200_sizes_beside_one_estimate(believed, capsys, monkeypatch):
    lines = [
        coverage.Line(technique, float(area))
        for technique in FILM_MM
        for area in np.geomspace(5_000, 1_500_000, 50)
    ]

    def table():
        return believed.estimator.jobs(lines)

    def one():
        return believed.estimator.job([LINE])

    table_s, one_s = medians_of(table, one, most=3)

    with capsys.disabled():
        print(f"\n200 sizes: {table_s * 1e3:.0f} ms, {table_s / one_s:.2f} × one estimate")
    factored, factor = [], posterior.cho_factor

    def counted(*args, **kwargs):
        factored.append(args[0].shape[0])
        return factor(*args, **kwargs)

    monkeypatch.setattr(posterior, "cho_factor", counted)
    assert len(table()) == 200
    last = len(COMMON) + 2 * coverage.WINDOW
    assert sorted(factored) == [len(COMMON), last]  # common practice's own, for the scale


@pytest.mark.benchmark
@pytest.mark.parametrize("world", ["spills", "drift"])
def test_after_2000_pours_the_state_says_what_all_pours_say(world, monkeypatch, capsys):
    studio = Studio(next(one for one in WORLDS if one.name == world), 1000)
    studio.log_until(2_020)
    believed, pours = Believed(monkeypatch), by_pour(studio.own)
    believed.learn(pours[:1_900])
    del pours[1_850:1_860]  # undone
    for count in (1_960, 1_999, 2_000):
        believed.learn(pours[:count])
    lines = [
        line_of(kind, piece, count)
        for kind in studio.kinds
        for piece, count in [(studio.pieces[0], 1), (studio.pieces[-1], 8)]
    ] + [coverage.Line("blow-out", 9_000), coverage.Line("bloom", 1_200_000, side_share=0.2)]

    job = believed.estimator.job(lines)
    away = furthest(job, straight_job(believed.all, believed.trust, lines, job))

    fades = {settings.fade_sd for settings, _, _ in believed.entered}
    slips = sum((chances > 0.5).sum() for _, chances, _ in believed.entered)
    with capsys.disabled():
        print(f"\n{world}: {len(fades)} settings, {slips} slips, {away:.2e} of the width apart")
    assert len(fades) > 10 and slips > 3
    assert away < 0.01
    assert len(coverage.packed(believed.memory)) < 200_000


@pytest.mark.benchmark
def test_nothing_jumps_as_pours_become_old(monkeypatch, capsys):
    """A pour moves a range a little; that older ones are no longer fitted to moves it less."""
    studio = Studio(WORLDS[0], 1001)
    studio.log_until(coverage.WINDOW + 4)
    pours, believed = by_pour(studio.own), Believed(monkeypatch)
    lines = [line_of(kind, piece, 1) for kind in studio.kinds for piece in studio.pieces[:2]]
    apart = []
    for count in (coverage.WINDOW, coverage.WINDOW + 1, coverage.WINDOW + 4):
        believed.learn(pours[:count])
        one_by_one = coverage.Estimator(believed.all).job(lines)
        apart.append(furthest(believed.estimator.job(lines), one_by_one))
    with capsys.disabled():
        print("\nwindow from all looked at:", " ".join(f"{one:.4f}" for one in apart))
    assert believed.memory.state.pours == 4
    assert apart[0] < 1e-6
    assert max(apart) < 0.02
