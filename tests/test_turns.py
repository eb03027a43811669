"""How benchmarks tell a slow call from a busy machine."""

import pytest

from tests.benchmarks import turns
from tests.benchmarks.turns import Times, measured

QUIET = Times(tuple((1.0, 1.0 + 0.001 * turn) for turn in range(9)))  # 1.00 to 1.01 times
SLOW = Times(((1.0, 2.0),) * 9)
# A neighbour takes four times as long of five of nine rounds, from one call only.
NOISY = Times(((1.0, 1.0),) * 4 + ((1.0, 4.0),) * 5)
BUSY = Times(((1.0, 2.0), (5.0, 10.0)) * 4)  # both calls suffer alike


def ends(monkeypatch, *taken, most):
    """Return how a comparison ends whose repeats come out as given, and how many there were."""
    left = list(taken)
    monkeypatch.setattr(turns, "in_turns", lambda *calls, **how: left.pop(0))
    try:
        measured(limits=[(1, 0, most)], rounds=9)
    except pytest.fail.Exception:
        return "failed", len(taken) - len(left)
    except pytest.skip.Exception:  # how a comparison says that it cannot tell
        return "unclear", len(taken) - len(left)
    return "held", len(taken) - len(left)


def test_a_limit_that_holds_is_taken_once(monkeypatch):
    assert ends(monkeypatch, QUIET, most=1.3) == ("held", 1)


def test_what_is_plainly_slower_fails(monkeypatch):
    assert ends(monkeypatch, SLOW, SLOW, SLOW, most=1.3) == ("failed", 3)


def test_a_noisy_neighbour_is_waited_for(monkeypatch):
    assert ends(monkeypatch, NOISY, NOISY, QUIET, most=1.3) == ("held", 3)
    assert ends(monkeypatch, NOISY, SLOW, NOISY, most=1.3) == ("unclear", 3)


def test_a_busy_spell_over_a_whole_round_decides_nothing(monkeypatch):
    assert ends(monkeypatch, BUSY, most=2.0) == ("held", 1)


def test_calls_take_turns_and_every_other_round_backwards():
    called = []

    times = turns.in_turns(lambda: called.append("a"), lambda: called.append("b"), rounds=3)

    assert "".join(called) == "ba" + "ab" + "ba" + "ab"
    assert len(times.rounds) == 3
