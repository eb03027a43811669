"""What cannot be worked out, in a sentence a person can act on."""


class OutputError(ValueError):
    """A run, a limit or an amount that cannot be."""
