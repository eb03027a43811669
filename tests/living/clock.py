"""The clock of a story: what the product takes for now is what the story says it is."""

import datetime
from datetime import UTC, timedelta

from django.utils import timezone

BEGINS = datetime.datetime(2026, 3, 2, 8, 30, tzinfo=UTC)


class _IsADatetime(type):
    def __instancecheck__(cls, value):
        return isinstance(value, datetime.datetime)


class Clock:
    """Stands still until it is moved on; put in place of the wall clock by `govern`.

    The default of a model's field is `django.utils.timezone.now` itself, so that function is left
    where it is and only what it reads is changed.
    """

    def __init__(self):
        self.now = BEGINS

    def go_on(self, **passed):
        """Let so many days, hours or minutes pass."""
        self.now += timedelta(**passed)

    @property
    def days(self):
        """How many days the story is old."""
        return (self.now - BEGINS).days

    def govern(self, monkeypatch):
        """Let the product read the time from this clock until the test is over."""
        clock = self

        class Told(datetime.datetime, metaclass=_IsADatetime):
            @classmethod
            def now(cls, tz=None):
                return clock.now.astimezone(tz) if tz else clock.now.replace(tzinfo=None)

        monkeypatch.setattr(timezone, "datetime", Told)
        assert timezone.now() == self.now
