"""What is kept of long histories says what all of their pours say, by the textbook's formulas."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import approx_fprime

from pricing.estimating import coverage
from pricing.estimating.coverage import memory as kept
from pricing.estimating.coverage.fitting import PRIOR_SD, Surprise
from pricing.estimating.coverage.seen import Seen
from pricing.estimating.coverage.state import NOTHING
from tests.benchmarks.believed import COMMON, Believed, by_pour, furthest
from tests.benchmarks.straight import straight_job
from tests.benchmarks.studios import WORLDS, Studio, line_of

SETTINGS = coverage.Settings()


def studio_of(world, count, seed=100):
    studio = Studio(next(one for one in WORLDS if one.name == world), seed)
    studio.log_until(count)
    return studio


def lines_of(studio):
    """Sizes and counts it pours, one it never poured, and one of which the base is not told."""
    return [
        *(line_of(kind, studio.pieces[0], 1) for kind in studio.kinds),
        line_of(studio.kinds[0], studio.pieces[-1], 8),
        coverage.Line("blow-out", 9_000),
        coverage.Line("bloom", 1_200_000, side_share=0.2),
        coverage.Line("ring-pour", 20_000, base="thin"),
    ]


@pytest.fixture
def short(monkeypatch):
    """The last forty pours are looked at one by one."""
    monkeypatch.setattr(kept, "WINDOW", 40)
    monkeypatch.setattr(kept, "STEP", 20)


@pytest.mark.parametrize("world", ["spills", "drift", "deep sides"])
def test_it_says_what_all_pours_say(world, short, monkeypatch):
    studio = studio_of(world, 132)
    believed, pours = Believed(monkeypatch), by_pour(studio.own)
    believed.learn(pours[:100])
    del pours[80:83]  # undone while among the last
    for count in (110, 128, 129):
        believed.learn(pours[:count])

    job = believed.estimator.job(lines_of(studio))

    assert believed.memory.state.pours == 89
    assert len({settings.fade_sd for settings, _, _ in believed.entered}) > 3
    straight = straight_job(believed.all, believed.trust, lines_of(studio), job)
    assert furthest(job, straight) < 0.001
    assert job.freedom == pytest.approx(straight.freedom)


@pytest.mark.parametrize("world", ["ordinary", "spills"])
def test_pour_by_pour_and_all_at_once_come_to_nearly_the_same(world, short):
    studio = studio_of(world, 70)
    pours, one_by_one = by_pour(studio.own), coverage.Memory()
    for count in range(38, 71):
        one_by_one = coverage.caught_up(one_by_one, pours[one_by_one.state.pours : count])
    at_once = coverage.caught_up(coverage.Memory(), pours)

    asked = [
        coverage.Estimator([*COMMON, *(one for pour in pours[30:] for one in pour)], memory=memory)
        for memory in (one_by_one, at_once)
    ]
    jobs = [one.job(lines_of(studio)) for one in asked]
    assert one_by_one.state.pours == at_once.state.pours == 30
    assert one_by_one.digest == at_once.digest
    assert furthest(*jobs) < 0.1  # settings and slips are those of another day


def test_nothing_jumps_as_the_first_pour_becomes_an_old_one(short):
    studio = studio_of("ordinary", 44)
    pours = by_pour(studio.own)
    for count in (40, 41, 44):
        some = [one for pour in pours[:count] for one in pour]
        memory = coverage.caught_up(coverage.Memory(), pours[:count])
        last = [one for pour in pours[memory.state.pours : count] for one in pour]
        job = coverage.Estimator([*COMMON, *last], memory=memory).job(lines_of(studio))
        all_alike = coverage.Estimator([*COMMON, *some]).job(lines_of(studio))

        assert memory.state.pours == count - 40
        assert furthest(job, all_alike) < (0.001 if count == 40 else 0.05)


def test_a_base_that_is_not_told_is_as_likely_as_it_was_ever_poured(short):
    flips = [
        coverage.Observation("flip-cup", layer, 15_000, ml, key=key, base=base)
        for key, base in enumerate(["thin"] * 30 + ["flooded"] * 20 + ["thin"] * 3)
        for layer, ml in (("base", 20.0), ("colours", 30.0))
    ]
    memory = coverage.caught_up(coverage.Memory(), by_pour(flips))
    line = coverage.Line("flip-cup", 15_000)

    asked = coverage.Estimator([*COMMON, *flips[26:]], memory=memory)

    assert memory.state.pours == 13
    chances = [cell.chance for cell in asked.job([line]).cells if cell.layer == "base"]
    assert chances == pytest.approx([34 / 55, 21 / 55])  # each once beforehand
    assert Seen([*COMMON, *flips]).chances_of_bases(line) == pytest.approx(chances)


def test_sizes_poured_long_ago_were_measured(short):
    small = [
        coverage.Observation("swipe", "base", 700.0 if key < 3 else 20_000.0, 4.0, key=key)
        for key in range(50)
    ]
    memory = coverage.caught_up(coverage.Memory(), by_pour(small))

    asked = coverage.Estimator([*COMMON, *small[10:]], memory=memory)

    assert asked.measured_range("swipe", "base")[0] == pytest.approx((700 / np.pi) ** 0.5)
    assert not asked.forecast("swipe", "base", 700.0).outside_measured


def entered(own, settings=SETTINGS):
    seen = Seen([*COMMON, *own])
    places, values = seen.places[len(COMMON) :], seen.values[len(COMMON) :]
    nothing = np.zeros(len(own))
    return NOTHING.after(places, values, settings, nothing, nothing)


def test_the_order_of_pours_says_nothing_but_for_what_fades():
    pours = by_pour(studio_of("ordinary", 12).own)
    still = replace(SETTINGS, fade_sd=1e-12)
    orders = [[one for pour in some for one in pour] for some in (pours, pours[::-1])]

    there, back = (entered(own, still) for own in orders)
    assert there.mean == pytest.approx(back.mean, abs=1e-6)
    assert there.covariance == pytest.approx(back.covariance, abs=1e-6)
    assert there.distance == pytest.approx(back.distance)
    fading = [entered(own, replace(SETTINGS, fade_sd=0.3)).mean for own in orders]
    assert np.abs(fading[0] - fading[1]).max() > 0.01


def test_the_gradient_of_the_fit_is_its_difference_with_older_pours_too():
    own = studio_of("drift", 24).own
    older, last = own[:24], own[24:]
    before = entered(older)
    seen = Seen([*COMMON, *last], before)
    surprise = Surprise(seen.places, seen.values, SETTINGS, np.full(seen.values.size, 0.01), before)
    at = np.random.default_rng(1).normal(0, 0.7, len(PRIOR_SD))

    reference = approx_fprime(at, lambda one: surprise(one)[0], 1e-6)

    assert surprise(at)[1] == pytest.approx(reference, abs=1e-3)


def test_it_is_kept_as_it_was(short):
    pours = by_pour(studio_of("spills", 60).own)
    memory = coverage.caught_up(coverage.Memory(), pours)

    again = coverage.unpacked(coverage.packed(memory))

    for name in ("mean", "covariance", "poured", "ranges"):
        assert (getattr(again.state, name) == getattr(memory.state, name)).all(), name
    assert vars(again) | {"state": 0, "away": 0} == vars(memory) | {"state": 0, "away": 0}
    assert (again.away == memory.away).all()
    for name in ("distance", "honest", "pours"):
        assert getattr(again.state, name) == getattr(memory.state, name)
    assert coverage.caught_up(again, pours[20:]).slips == memory.slips


def test_it_does_not_grow():
    few, many = (coverage.Memory(entered(studio_of("ordinary", count).own)) for count in (3, 90))

    assert len(coverage.packed(few)) == len(coverage.packed(many)) < 150_000


@pytest.mark.parametrize(
    ("changed", "other"),
    [
        ({"label": "Pour 3"}, False),
        ({"volume_ml": 5.1}, True),
        ({"wetted_area_mm2": 4_001.0}, True),
        ({"sure": True}, True),
        ({"key": 8}, True),
    ],
)
def test_its_fingerprint_is_of_what_is_learnt_from(changed, other):
    one = coverage.Observation("bloom", "base", 4_000.0, 5.0, key=7)

    found = coverage.digest_of([[one]]) != coverage.digest_of([[replace(one, **changed)]])

    assert found is other


def test_a_new_pour_is_looked_at_for_a_slip_and_nothing_is_fitted(short, monkeypatch):
    studio = studio_of("ordinary", 60)
    pours = by_pour(studio.own)
    memory = coverage.caught_up(coverage.Memory(), pours)
    monkeypatch.setattr("pricing.estimating.coverage.fitting.minimize", None)
    spilled = [replace(one, volume_ml=6 * one.volume_ml, key=60) for one in pours[-1]]
    last = [one for pour in pours[20:] for one in pour]

    asked = coverage.Estimator([*COMMON, *last, *spilled], memory=memory)

    assert asked.settings == memory.settings
    chances = asked.slips()
    assert chances.pop(60) > 0.9
    for key, chance in chances.items():
        assert chance == max(two[0] for at, two in memory.slips.items() if at[0] == key)
