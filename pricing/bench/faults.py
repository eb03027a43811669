"""Faults that pours have, as makers name them: common practice, no source."""

from collections.abc import Iterable

FAULTS = (
    "Crazing",
    "Cracked",
    "Bare corner",
    "Muddy colours",
    "No cells",
    "Dust or lumps",
    "Bubbles",
    "Pooling",
    "Lifting",
    "Fisheyes",
)


def joined(ticked: Iterable[str], more: str = "") -> str:
    """Return ticked faults and what was written beside them as one text, as a pour keeps it."""
    return ", ".join([*ticked, *filter(None, [more.strip()])])
