"""Refusals of the price arithmetic."""


class PriceError(ValueError):
    """Raised when no sensible price exists; the text says why and what to change."""
