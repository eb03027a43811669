"""Ratios of times that a busy machine does not decide.

What is compared takes turns, every other round backwards, and medians are held against each other.
Where the rounds disagree by more than the limit could tell, they are taken again, a few times; what
is still unclear then is said, and fails nothing.
"""

from dataclasses import dataclass
from statistics import median, quantiles
from time import perf_counter, process_time

import pytest

REPEATS = 3
CLOCKS = {"wall": perf_counter, "processor": process_time}


@dataclass(frozen=True)
class Times:
    """Seconds of each call, round by round."""

    rounds: tuple[tuple[float, ...], ...]

    @property
    def medians(self):
        return [median(column) for column in zip(*self.rounds, strict=True)]

    def ratio(self, one, other):
        """Return the median, and the middle half, of the ratios of two calls round by round."""
        low, middle, high = quantiles([each[one] / each[other] for each in self.rounds], n=4)
        return middle, low, high


def in_turns(*calls, rounds, clock="wall"):
    """Return `Times` of calls that take turns, after one round to warm up."""
    now, taken = CLOCKS[clock], []
    for turn in range(rounds + 1):
        times = [0.0] * len(calls)
        order = range(len(calls)) if turn % 2 else reversed(range(len(calls)))
        for place in order:
            start = now()
            calls[place]()
            times[place] = now() - start
        taken.append(tuple(times))
    return Times(tuple(taken[1:]))


def held(times, one, other, most):
    """Tell whether a ratio is within its limit: True, False, or None where the spread hides it."""
    middle, low, _ = times.ratio(one, other)
    if middle <= most:
        return True
    return False if low > most else None


def measured(*calls, rounds, limits=(), clock="wall"):
    """Return `Times` by which each (one, other, most) of ``limits`` holds, or refuse them.

    Taken again up to `REPEATS` times while a limit does not hold; the test fails only if every
    time the middle half of the rounds lay above it.
    """
    for _ in range(REPEATS):
        times = in_turns(*calls, rounds=rounds, clock=clock)
        found = [held(times, *limit) for limit in limits]
        if all(found):
            return times
    worst = [limit for limit, is_held in zip(limits, found, strict=True) if is_held is False]
    for one, other, most in worst:
        pytest.fail(f"{times.ratio(one, other)[0]:.2f} times as long, and at most {most} is meant.")
    pytest.skip("The machine is too busy to tell: the rounds disagree by more than the limit.")
