"""The clock of a story: what the product takes for now is what the story says it is."""

from datetime import UTC, datetime

from django.utils import timezone

from pricing.demo import clock

BEGINS = datetime(2026, 3, 2, 8, 30, tzinfo=UTC)


class Clock(clock.Clock):
    """Stands still until it is moved on; put in place of the wall clock by `govern`."""

    def __init__(self):
        super().__init__(BEGINS)

    def govern(self, monkeypatch):
        """Let the product read the time from this clock until the test is over."""
        monkeypatch.setattr(timezone, "datetime", self.told())
        assert timezone.now() == self.now
