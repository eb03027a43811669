"""What can be said against a cell: that it is wrong, that only its owner knows, or that one answer
serves the whole sheet."""

SHOWN = 40  # characters of a cell that a sentence repeats


def shown(text: str) -> str:
    """Return the text of a cell, cut where it is long.

    >>> shown("a" * 50) == "a" * 39 + "…"
    True
    """
    return text if len(text) <= SHOWN else f"{text[: SHOWN - 1]}…"


class CellWrong(ValueError):
    """A cell that cannot be; its text is the reason, one sentence."""


class CellDoubtful(ValueError):
    """A cell that could be more than one thing; its text is the question, one sentence."""


class SheetAsked(ValueError):
    """A cell that one answer for the whole sheet settles; its text is the key of the question."""
