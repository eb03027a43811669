"""When a material runs out, worked by hand."""

from datetime import date, timedelta

import pytest

from inventory.buying.reordering import Event, runs_out_on

TODAY = date(2026, 5, 1)


def on(days, quantity):
    return Event(TODAY + timedelta(days=days), quantity)


def out_in(**known):
    """Return in how many days it runs out, 0 for today, or None."""
    known = {"on_hand": 100.0, "use_per_day": 0.0} | known
    day = runs_out_on(today=TODAY, **known)
    return None if day is None else (day - TODAY).days


@pytest.mark.parametrize(
    ("known", "days"),
    [
        ({}, None),  # never used
        ({"use_per_day": 10.0}, 10),  # ten full days, days 0 to 9
        ({"use_per_day": 9.0}, 11),  # 11 full days are 99
        ({"use_per_day": 30.0}, 3),  # 90 gone by the end of day 2
        ({"use_per_day": 150.0}, 0),  # not enough for today
        ({"on_hand": 0.0, "use_per_day": 1.0}, 0),
        ({"on_hand": 0.0}, None),  # nothing there, and nobody asks
        ({"use_per_day": 0.1}, None),  # a thousand days: beyond the horizon of a year
        ({"use_per_day": 0.1, "horizon_days": 1001}, 1000),
        # Promises alone.
        ({"promised": [on(5, 100.0)]}, None),  # all of it, and it is enough
        ({"promised": [on(5, 60.0), on(9, 60.0)]}, 9),
        ({"promised": [on(-3, 101.0)]}, 0),  # overdue work asks today
        ({"promised_undated": 40.0, "promised": [on(4, 70.0)]}, 4),
        ({"promised_undated": 101.0}, 0),
        # Promises come on top of the usual use: 50 on day 4, so five days of use and those are 100.
        ({"use_per_day": 10.0, "promised": [on(4, 50.0)]}, 5),
        # A day later they cannot be had any more: six days are 60, and 50 is wanted of 40.
        ({"use_per_day": 10.0, "promised": [on(5, 50.0)]}, 5),
        ({"use_per_day": 10.0, "promised": [on(20, 50.0)]}, 10),  # too late to matter
        # Orders: 50 on day 8 makes 150, fifteen days of use.
        ({"use_per_day": 10.0, "coming": [on(8, 50.0)]}, 15),
        # On the very day it would have run short.
        ({"use_per_day": 10.0, "coming": [on(10, 50.0)]}, 15),
        # A day too late.
        ({"use_per_day": 10.0, "coming": [on(11, 50.0)]}, 10),
        # An order that is overdue is expected today.
        ({"use_per_day": 10.0, "coming": [on(-4, 20.0)]}, 12),
        # What comes on the day of a promise is in time for it.
        ({"promised": [on(6, 130.0)], "coming": [on(6, 30.0)]}, None),
        ({"promised": [on(6, 130.0)], "coming": [on(7, 30.0)]}, 6),
        # Two orders and two promises. By the end of day 6, 7 x 4 + 40 + 30 = 98 of 120 are gone; 22
        # left last five days more, to day 11. 40 more come on day 10, and last ten days further.
        (
            {
                "use_per_day": 4.0,
                "promised": [on(3, 40.0), on(6, 30.0)],
                "coming": [on(2, 20.0), on(10, 40.0)],
            },
            22,
        ),
        # Beyond the horizon nothing is looked at.
        ({"promised": [on(400, 500.0)]}, None),
    ],
)
def test_it_runs_out_when_a_hand_count_says(known, days):
    assert out_in(**known) == days


def test_it_agrees_with_going_through_the_days_one_by_one():
    """A second way, in whole millilitres: the same rule, day by day, without any shortcut."""
    for seed in range(300):
        use, there = seed % 7, (seed * 37) % 90
        promised = [on((seed * k) % 23, float((seed * k) % 31)) for k in range(3)]
        coming = [on((seed * k + 5) % 29, float((seed * k) % 17)) for k in range(2)]
        expected = None
        for day in range(60):
            upto = TODAY + timedelta(days=day)
            has = there + sum(one.quantity for one in coming if one.day <= upto)
            due = sum(one.quantity for one in promised if one.day <= upto)
            if due + use * (day + 1) > has:
                expected = day
                break
        found = out_in(
            on_hand=float(there),
            use_per_day=float(use),
            promised=promised,
            coming=coming,
            horizon_days=60,
        )
        assert found == expected, seed


def test_amounts_below_zero_are_refused():
    with pytest.raises(ValueError, match="never below zero"):
        out_in(on_hand=-1.0)
    with pytest.raises(ValueError, match="never below zero"):
        out_in(promised=[on(1, -5.0)])
