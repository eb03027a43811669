"""How a story knows its acts: each is a small function that takes the story."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Act:
    """Something people do.

    ``weight`` is how often it is drawn beside the others; ``when`` tells of a story whether it can
    be done now, so that most acts are not idle.
    """

    do: Callable
    weight: float
    when: Callable

    @property
    def name(self):
        return self.do.__name__.replace("_", " ")


ACTS: list[Act] = []


def act(weight=1, when=lambda story: True):
    """Put a function on the list of acts."""

    def decorate(do):
        ACTS.append(Act(do, weight, when))
        return do

    return decorate
