"""What cannot be planned, in a sentence a person can act on."""


class TimingError(ValueError):
    """A calendar, a batch or a share that cannot be, or work that fits on no day."""
