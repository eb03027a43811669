"""The demo's clock: while its story is lived, now is the moment at which the story stands."""

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Any, Self

from django.utils import timezone


class _IsADatetime(type):
    def __instancecheck__(cls, value: object) -> bool:
        return isinstance(value, datetime.datetime)


class Clock:
    """Stands still until it is moved on.

    The default of a model's field is `django.utils.timezone.now` itself, so that function is left
    where it is and only what it reads is changed.
    """

    def __init__(self, begins: datetime.datetime) -> None:
        self.begins = self.now = begins

    @property
    def days(self) -> int:
        """How many days have passed."""
        return (self.now - self.begins).days

    def go_on(self, **passed: float) -> None:
        """Let so many days, hours or minutes pass."""
        self.now += timedelta(**passed)

    def told(self) -> type[datetime.datetime]:
        """Return a datetime whose now is read from this clock."""
        clock = self

        class Told(datetime.datetime, metaclass=_IsADatetime):
            @classmethod
            def now(cls, tz: datetime.tzinfo | None = None) -> Any:
                return clock.now.astimezone(tz) if tz else clock.now.replace(tzinfo=None)

        return Told

    @contextmanager
    def governs(self) -> Iterator[Self]:
        """Let everything read the time from this clock until the end of the block."""
        names = vars(timezone)
        before = names["datetime"]
        names["datetime"] = self.told()
        try:
            yield self
        finally:
            names["datetime"] = before
