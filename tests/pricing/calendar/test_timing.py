"""When work can be ready, against plans worked by hand, brute force and a second library.

1 January 2024 was a Monday.
"""

from collections import Counter
from datetime import date, timedelta
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, geom

from pricing.calendar.timing import (
    Job,
    PieceBatch,
    ReadyDayChange,
    TimingError,
    WorkingWeek,
    WorkStep,
    in_order,
    moves,
    plan_last,
    rounds,
    schedule,
)

MONDAY = date(2024, 1, 1)
DAY = timedelta(days=1)


def jan(day):
    return MONDAY + (day - 1) * DAY


def week(*hours, days_off=(), rack_places=24):
    hours = hours or (4, 4, 4, 4, 4, 0, 0)
    return WorkingWeek(tuple(Decimal(60 * one) for one in hours), frozenset(days_off), rack_places)


def step(name, minutes, dried_days=0, wait_days=0):
    return WorkStep(name, Decimal(minutes), Decimal(24 * dried_days), Decimal(24 * wait_days))


POUR = step("pour", 60)
COATED = (POUR, step("clean", 30, 3), step("topcoat", 30, 7), step("pack", 20, wait_days=7))


def days_of(placed):
    return [one.begins for batch in placed.batches for one in batch.steps]


@pytest.mark.parametrize(("hours", "day"), [("0.5", 2), (24, 2), ("24.5", 3), (36, 3), (48, 3)])
def test_part_of_a_day_is_waited_for_to_its_end(hours, day):
    pour_then = POUR, WorkStep("clean", Decimal(30), Decimal(hours), Decimal(0))
    wait_then = POUR, WorkStep("pack", Decimal(30), Decimal(0), Decimal(hours))

    placed = schedule(
        [Job("a", (PieceBatch(pour_then, 1), PieceBatch(wait_then, 1)))], week(), MONDAY
    )["a"]

    assert days_of(placed) == [jan(1), jan(day)] * 2


def test_steps_wait_for_drying_curing_and_weekends():
    # Monday 1st; three days later Thursday 4th; a week after the pour Monday 8th; a week's cure.
    placed = schedule([Job("a", (PieceBatch(COATED, 4),))], week(), MONDAY)["a"]

    assert days_of(placed) == [jan(1), jan(4), jan(8), jan(15)]
    assert placed.ready_on == placed.at_best == jan(15)


def test_a_wait_that_ends_on_a_day_off_goes_on_to_the_next_working_day():
    # From Wednesday 3rd: dry on Saturday 6th, cleaned on Monday; Wednesday 10th is off.
    placed = schedule([Job("a", (PieceBatch(COATED, 4),))], week(days_off=[jan(10)]), jan(3))["a"]

    assert days_of(placed) == [jan(3), jan(8), jan(11), jan(18)]


def test_a_step_that_does_not_fit_today_waits_and_a_short_one_fills_the_gap():
    # One hour a day: 40 minutes leave 20, which the third job fits and the second does not.
    pours = [
        Job(
            n,
            (
                PieceBatch(
                    (step("pour", n),),
                ),
            ),
            None,
            i,
        )
        for i, n in enumerate((40, 30, 20))
    ]

    placed = schedule(pours, week(1, 1, 1, 1, 1, 0, 0), MONDAY)

    assert {key: one.ready_on for key, one in placed.items()} == {
        40: jan(1),
        30: jan(2),
        20: jan(1),
    }


def test_a_step_longer_than_any_day_goes_on_over_the_next_working_days():
    # 150 minutes at an hour a day from Friday 5th: Friday, Monday, and half of Tuesday.
    long = Job(
        "a",
        (
            PieceBatch(
                (step("pour", 150), step("pack", 30, 1)),
            ),
        ),
    )

    placed = schedule([long], week(1, 1, 1, 1, 1, 0, 0), jan(5))["a"].batches[0]

    assert placed.steps[0].minutes == ((jan(5), 60), (jan(8), 60), (jan(9), 30))
    assert placed.steps[1].begins == jan(10)


def test_a_pour_waits_until_the_racks_are_free():
    # 6 of 8 places are taken from the 1st until packing on the 15th, so 4 pieces go on the 16th.
    jobs = [
        Job("a", (PieceBatch(COATED, 6),), None, 1),
        Job("b", (PieceBatch(COATED, 4),), None, 2),
    ]

    placed = schedule(jobs, week(rack_places=8), MONDAY)

    assert days_of(placed["b"])[0] == jan(16)
    assert schedule(jobs, week(rack_places=10), MONDAY)["b"].ready_on == jan(15)


def test_what_lies_on_the_racks_is_finished_first_and_keeps_its_places():
    # Poured on 28 December, a week is over on the 4th; the racks are full until it is packed.
    begun = PieceBatch((step("pack", 20, 7),), 8, poured_on=jan(-3))
    jobs = [Job("new", (PieceBatch(COATED, 1),), jan(20)), Job("begun", (begun,))]

    placed = schedule(jobs, week(rack_places=8), MONDAY)

    assert placed["begun"].ready_on == jan(4)
    assert days_of(placed["new"])[0] == jan(5)


def test_a_cure_goes_on_from_the_day_of_the_topcoat():
    begun = PieceBatch((step("pack", 20, 7, 7),), 8, poured_on=jan(-9), last_on=jan(-1))

    assert schedule([Job("a", (begun,))], week(), MONDAY)["a"].ready_on == jan(8)  # 6th: Saturday


def test_pieces_poured_again_start_when_the_first_are_seen():
    # Seen after three days, on Thursday 4th, and then the same way: 7th, 11th, 18th.
    again = PieceBatch(COATED, 1, is_again=True, seen_hours=Decimal(72))

    placed = schedule([Job("a", (PieceBatch(COATED, 4), again))], week(), MONDAY)["a"]

    assert days_of(placed)[4:] == [jan(4), jan(8), jan(11), jan(18)]
    assert (placed.at_best, placed.ready_on) == (jan(15), jan(18))


def test_jobs_go_by_the_day_wanted_then_in_order():
    jobs = [Job("a", (), None, 1), Job("b", (), jan(9), 3), Job("c", (), jan(9), 2)]

    assert [one.key for one in in_order(jobs)] == ["c", "b", "a"]


def test_a_promise_moves_nobody():
    packed = PieceBatch((step("pack", 60),))
    others = [Job(n, (packed,), jan(30), n) for n in (1, 2)]
    wanted_soon = Job("new", (packed,), jan(2))

    assert plan_last(wanted_soon, others, week(1, 1, 1, 1, 1, 0, 0), MONDAY).ready_on == jan(3)


def test_moves_name_each_day_that_changes():
    packed, hours = PieceBatch((step("pack", 60),)), week(1, 1, 1, 1, 1, 0, 0)
    first = [Job(n, (packed,), None, n) for n in ("a", "b", "c")]
    sooner = [first[0], first[1], Job("c", (packed,), jan(20), "c")]

    found = moves(schedule(first, hours, MONDAY), schedule(sooner, hours, MONDAY))

    assert found == (
        ReadyDayChange("c", jan(3), jan(1)),
        ReadyDayChange("a", jan(1), jan(2)),
        ReadyDayChange("b", jan(2), jan(3)),
    )


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (lambda: week(0, 0, 0, 0, 0, 0, 0), "at least one weekday"),
        (lambda: week(25, 0, 0, 0, 0, 0, 0), "0 to 24 hours"),
        (lambda: week(rack_places=0), "at least one place"),
        (lambda: step("pour", -1), "no less than nothing"),
        (lambda: PieceBatch(()), "at least one step"),
        (lambda: schedule([Job("a", (PieceBatch(COATED, 25),))], week(), MONDAY), "25 places"),
        (lambda: rounds(0, 0.9, 0.8), "at least one piece"),
        (lambda: rounds(4, 0, 0.8), "success rate lies above 0"),
        (lambda: rounds(4, 0.05, 0.99), "12 rounds"),
    ],
)
def test_what_cannot_be_is_refused_in_words(made, said):
    with pytest.raises(TimingError, match=said):
        made()


def test_work_that_never_fits_is_refused():
    never = week(days_off=[jan(n) for n in range(1, 1200)])

    with pytest.raises(TimingError, match="next three years"):
        schedule([Job("a", (PieceBatch(COATED),))], never, MONDAY)


@pytest.mark.parametrize("pieces", (1, 4, 30))
@pytest.mark.parametrize("rate", (0.5, 0.85, 0.99))
@pytest.mark.parametrize("sure", (0.6, 0.8, 0.95))
def test_rounds_are_enough_by_scipy_and_one_less_is_not(pieces, rate, sure):
    planned = rounds(pieces, rate, sure)

    done = [geom.cdf(r, rate) ** pieces for r in range(len(planned) + 1)]
    assert done[-1] >= sure
    assert done[-2] < sure
    missing = [max(binom.ppf(sure, pieces, (1 - rate) ** r), 1) for r in range(1, len(planned))]
    assert planned == (pieces, *missing)


steps = st.lists(
    st.builds(step, st.just("work"), st.integers(1, 150), st.integers(0, 4), st.integers(0, 3)),
    min_size=1,
    max_size=3,
)
batches = st.builds(
    lambda steps, pieces, ago: PieceBatch(
        tuple(steps), pieces, poured_on=None if ago is None else MONDAY - ago * DAY
    ),
    steps,
    st.integers(1, 4),
    st.none() | st.none() | st.integers(1, 3),
)
jobs_of = st.lists(st.lists(batches, min_size=1, max_size=2), min_size=1, max_size=4).map(
    lambda rows: [Job(n, tuple(row), None, n) for n, row in enumerate(rows)]
)
weeks = st.builds(
    lambda hours, off: week(*hours, days_off=off, rack_places=6),
    st.lists(st.integers(0, 2), min_size=7, max_size=7).filter(any),
    st.sets(st.integers(1, 14).map(jan), max_size=3),
)


@settings(max_examples=60, deadline=None)
@given(jobs_of, weeks)
def test_no_plan_breaks_hours_racks_or_waits(jobs, week):
    placed = [one for job in schedule(jobs, week, MONDAY).values() for one in job.batches]

    worked, lying, begun = Counter(), Counter(), Counter()
    for one in placed:
        day = one.rack_from
        while day <= one.ready_on:
            lying[day] += one.batch.pieces
            begun[day] += one.batch.pieces if one.batch.poured_on else 0
            day += DAY
        poured = last = one.batch.poured_on
        for part in one.steps:
            assert sum(minutes for _, minutes in part.minutes) == part.step.minutes
            assert len(part.minutes) == 1 or part.step.minutes > week.longest
            assert part.begins >= MONDAY
            if poured:
                assert part.begins - poured >= timedelta(hours=float(part.step.dried_hours))
                assert part.begins - last >= timedelta(hours=float(part.step.wait_hours))
            last = part.ends
            poured = poured or last
            for on, minutes in part.minutes:
                worked[on] += minutes
    assert all(minutes <= week.minutes_on(on) for on, minutes in worked.items())
    # Pieces that lie there already may be more than the racks hold; nothing is added to them then.
    assert all(count <= max(week.rack_places, begun[on]) for on, count in lying.items())


def all_ready_days(batch, week, used, racks, horizon):
    """Yield when a batch would be ready in every way to put its steps on single days that fits."""
    for offsets in product(range(horizon), repeat=len(batch.steps)):
        on = [MONDAY + n * DAY for n in offsets]
        minutes = Counter()
        for day, one in zip(on, batch.steps, strict=True):
            minutes[day] += one.minutes
        waits = all(
            (day - on[0]).days * 24 >= one.dried_hours
            and (day - before).days * 24 >= one.wait_hours
            and day >= before
            for day, before, one in zip(on[1:], on, batch.steps[1:], strict=False)
        )
        hours = all(used[day] + took <= week.minutes_on(day) for day, took in minutes.items())
        lying = [on[0] + n * DAY for n in range((on[-1] - on[0]).days + 1)]
        if waits and hours and all(racks[day] + batch.pieces <= week.rack_places for day in lying):
            yield on[-1]


def test_nothing_earlier_is_possible_by_brute_force():
    # Four batches on five places and an hour a day: each is as early as any of all ways to put it.
    hours = week(1, 1, 0, 1, 1, 0, 1, days_off=[jan(4)], rack_places=5)
    kinds = [
        (step("pour", 40), step("coat", 20, 2), step("pack", 10, wait_days=3)),
        (step("pour", 30), step("coat", 30, 1), step("pack", 20, wait_days=2)),
        (step("pour", 20), step("pack", 50, 3)),
        (step("pour", 60), step("pack", 10, 4)),
    ]
    jobs = [Job(n, (PieceBatch(kind, 2),), None, n) for n, kind in enumerate(kinds)]

    placed = schedule(jobs, hours, MONDAY)

    used, racks = Counter(), Counter()
    for job in jobs:
        found = placed[job.key].batches[0]
        assert found.ready_on == min(all_ready_days(found.batch, hours, used, racks, 24))
        for one in found.steps:
            used[one.begins] += one.step.minutes
        for n in range((found.ready_on - found.rack_from).days + 1):
            racks[found.rack_from + n * DAY] += 2
