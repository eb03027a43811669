"""Long histories kept in a memory, and what each of their values is believed with."""

from itertools import groupby

import numpy as np

from pricing.estimating import coverage
from pricing.estimating.coverage.state import State
from tests.benchmarks.straight import Trust

COMMON = coverage.common_practice()


def by_pour(own):
    """Return own observations by their pours."""
    return [list(some) for _, some in groupby(own, key=lambda one: one.key)]


class Believed:
    """A memory that learns, and beside it what entered its state, one by one."""

    def __init__(self, monkeypatch):
        self.memory, self.pours, self.entered = coverage.Memory(), [], []
        after = State.after

        def watched(state, places, values, settings, chances, raised):
            self.entered.append((settings, chances, raised))
            return after(state, places, values, settings, chances, raised)

        monkeypatch.setattr(State, "after", watched)

    def learn(self, pours):
        """Learn from the pours that there are now, in their order, as a job does."""
        self.pours = pours
        self.memory = coverage.caught_up(self.memory, pours[self.memory.state.pours :])

    @property
    def estimator(self):
        """The one that pages ask: common practice and the last pours, before them the state."""
        last = [one for pour in self.pours[self.memory.state.pours :] for one in pour]
        return coverage.Estimator([*COMMON, *last], memory=self.memory)

    @property
    def all(self):
        """All observations, common practice first."""
        return [*COMMON, *(one for pour in self.pours for one in pour)]

    @property
    def trust(self):
        """What each of all observations is believed with."""
        learnt = self.estimator.learnt
        last = learnt.settings
        settings = [last] * len(COMMON)
        settings += [one for one, chances, _ in self.entered for _ in chances]
        settings += [last] * (len(learnt.raised) - len(COMMON))
        columns = zip(*[(chances, raised) for _, chances, raised in self.entered], strict=True)
        nothing = np.zeros(len(COMMON))
        old_chances, old_raised = [np.concatenate(one) for one in columns] or [nothing[:0]] * 2
        return Trust(
            settings,
            np.concatenate([nothing, old_raised, learnt.raised[len(COMMON) :]]),
            np.concatenate([nothing, old_chances, learnt.chances[len(COMMON) :]]),
        )


def furthest(job, other):
    """Return how far two jobs' figures lie apart at most, in widths of the other's ranges.

    These are low, median and high of each layer of each line, and of all together.
    """
    cells = dict.fromkeys((cell.line, cell.layer) for cell in other.cells)
    pairs = [(job.layer(layer, line), other.layer(layer, line)) for line, layer in cells]
    pairs.append((job.total(), other.total()))
    return max(
        abs(getattr(one, what) - getattr(two, what)) / (two.high - two.low)
        for one, two in pairs
        for what in ("low", "median", "high")
    )
