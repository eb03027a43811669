"""Work to be planned: batches of pieces poured together, each a chain of steps by hand."""

from collections.abc import Hashable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pricing.calendar.timing.errors import TimingError
from studio.money import ZERO


@dataclass(frozen=True)
class WorkStep:
    """One act by hand and what must have passed before it.

    ``minutes`` is the hands-on work of the whole batch, [min]; ``dried_hours`` how long since the
    batch was poured, [h]; ``wait_hours`` how long since the step before it, such as a cure, [h].
    """

    name: str
    minutes: Decimal
    dried_hours: Decimal = ZERO
    wait_hours: Decimal = ZERO

    def __post_init__(self) -> None:
        amounts = (self.minutes, self.dried_hours, self.wait_hours)
        if any(not amount.is_finite() or amount < 0 for amount in amounts):
            raise TimingError(f"“{self.name}” takes no less than nothing, and waits no less.")


@dataclass(frozen=True)
class PieceBatch:
    """Pieces that go through their steps together, and lie on the racks until the last.

    The step at ``pours_at`` is the pour, [-]; those before it are done with empty surfaces.
    ``pieces`` says how many, [-], ``places`` what each takes up on the racks, [-]. A batch that was
    poured already has ``poured_on``, and ``last_on`` the day of its last step done; it lies on
    the racks now. ``is_again`` marks pieces poured again for those that may fail: they start
    ``seen_hours`` after the batch before them was poured, when it is seen what failed, [h]. ``key``
    names the batch for whoever asked, and is not looked at.
    """

    steps: tuple[WorkStep, ...]
    pieces: int = 1
    places: int = 1
    poured_on: date | None = None
    last_on: date | None = None
    is_again: bool = False
    seen_hours: Decimal = ZERO
    key: Hashable = None
    pours_at: int = 0

    def __post_init__(self) -> None:
        if not self.steps:
            raise TimingError("A batch has at least one step left to do.")
        if self.pieces < 1 or self.places < 0 or self.seen_hours < 0:
            raise TimingError("A batch has at least one piece and takes up no less than nothing.")

    @property
    def rack_places(self) -> int:
        """What all of its pieces take up on the racks, [-]."""
        return self.pieces * self.places


@dataclass(frozen=True)
class Job:
    """One customer's work: batches in the order they are begun, done when all of them are.

    ``wanted`` orders the jobs: the day promised or wanted, none last; ``order`` parts equals, [-].
    """

    key: Hashable
    batches: tuple[PieceBatch, ...]
    wanted: date | None = None
    order: int = 0
