"""How long a call takes, so that the answer does not depend on who else uses the machine.

Time is the thread's own on the processor; what is compared takes turns, and medians are held
against each other.
"""

import signal
from contextlib import contextmanager
from statistics import median
from time import thread_time


def took(call):
    """Return the processor time of one call, [s]."""
    start = thread_time()
    call()
    return thread_time() - start


def medians(*calls, rounds=5):
    """Return the median time of each call, [s]; they take turns."""
    times = [[took(call) for call in calls] for _ in range(rounds)]
    return [median(column) for column in zip(*times, strict=True)]


@contextmanager
def at_most(seconds, what):
    """Stop what uses more processor time than any reading may, so that a failure is told."""

    def stop(*_):
        raise AssertionError(f"{what} took more than {seconds} s of processor time.")

    before = signal.signal(signal.SIGVTALRM, stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)
