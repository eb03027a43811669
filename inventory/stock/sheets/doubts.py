"""What can be said against a cell: that it is wrong, that only its owner knows, or that one answer
serves the whole sheet."""


class CellWrong(ValueError):
    """A cell that cannot be; its text is the reason, one sentence."""


class CellDoubtful(ValueError):
    """A cell that could be more than one thing; its text is the question, one sentence."""


class SheetAsked(ValueError):
    """A cell that one answer for the whole sheet settles; its text is the key of the question."""
