"""What cannot be printed."""


class LabelError(ValueError):
    """Raised when labels cannot be printed so; the text says what to do."""
