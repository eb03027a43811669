"""Refusals of the timing arithmetic, each a sentence a person can act on."""


class TimingError(ValueError):
    """Raised for an impossible calendar, batch or share, or for work that fits on no day."""
