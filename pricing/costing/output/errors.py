"""Refusals of the arithmetic of output, each a sentence a person can act on."""


class OutputError(ValueError):
    """Raised for a run, a limit or an amount that is not possible."""
