"""Ratios of times that a busy machine does not decide.

What is compared takes turns, every other round backwards, and is held against each other round by
round: a busy spell falls on both. Where the rounds disagree too much to tell, they are taken again,
a few times; what is unclear even then is said, and fails nothing.
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
        """The median of each call, [s]."""
        return [median(column) for column in zip(*self.rounds, strict=True)]

    def ratio(self, one, other):
        """Return one call's time by another's: median of the rounds, and their lower quartile."""
        low, middle, _ = quantiles([each[one] / each[other] for each in self.rounds], n=4)
        return middle, low


def in_turns(*calls, rounds, clock="wall"):
    """Return `Times` of calls that take turns, after one round to warm up."""
    now, taken = CLOCKS[clock], []
    for turn in range(rounds + 1):
        times = [0.0] * len(calls)
        for place in range(len(calls))[:: 1 if turn % 2 else -1]:
            start = now()
            calls[place]()
            times[place] = now() - start
        taken.append(tuple(times))
    return Times(tuple(taken[1:]))


def held(times, one, other, most):
    """Tell whether a ratio is within its limit: True, False, or None where the spread hides it."""
    middle, low = times.ratio(one, other)
    if middle <= most:
        return True
    return False if low > most else None


def measured(*calls, limits, rounds, clock="wall"):
    """Return `Times` in which each (one, other, most) of ``limits`` holds, or fail.

    They are taken up to `REPEATS` times until all hold. The test fails where a limit was plainly
    passed each time, and is skipped, with the reason, where it could not be told.
    """
    told = []
    for _ in range(REPEATS):
        times = in_turns(*calls, rounds=rounds, clock=clock)
        told.append([held(times, *limit) for limit in limits])
        if all(told[-1]):
            return times
    for limit, verdicts in zip(limits, zip(*told, strict=True), strict=True):
        if all(verdict is False for verdict in verdicts):
            one, other, most = limit
            pytest.fail(
                f"It takes {times.ratio(one, other)[0]:.2f} times as long; {most} is meant."
            )
    # Neither shown to hold nor to fail: a neighbour's load is no fault of the code.
    pytest.skip("The machine is too busy to tell: the rounds disagree by more than the limit.")
