"""Refusals of the resin arithmetic."""


class ResinError(ValueError):
    """Raised when a topcoat cannot be planned; the text says what is accepted."""
