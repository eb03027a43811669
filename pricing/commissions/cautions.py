"""What a customer must know of what they order: heat, food and care, in their words."""

from math import ceil

from pricing.estimating.fitting import words_of_line
from pricing.fitness import CLEANING, told_of_each
from pricing.models import Commission, CommissionLine


def cautions(commission: Commission) -> list[str]:
    """Return the sentences that stand on each paper of a commission; none where it has no lines.

    A test tile is not handed over, so nothing is said of it.
    """
    chosen = ("surface", "topcoat", "technique", "palette")
    lines = list(commission.lines.filter(is_test=False).select_related(*chosen))
    if not lines:
        return []
    called = [_called(line) for line in lines]
    names = [
        short if called.count(short) == 1 else line.description
        for line, short in zip(lines, called, strict=True)
    ]
    told = told_of_each(zip(names, map(words_of_line, lines), strict=True))
    return [*told, *_cures(lines), CLEANING]


def _called(line: CommissionLine) -> str:
    each = line.pieces_each
    return f"Set of {each}: {line.surface.name}" if each > 1 else line.surface.name


def _cures(lines: list[CommissionLine]) -> list[str]:
    """Say how long to wait for the slowest resin."""
    kits = [line.topcoat for line in lines if line.topcoat]
    if not kits:
        return []
    days = ceil(max(kit.taken("cure_hours") for kit in kits) / 24)
    cures = (
        "Resin goes on curing after it feels dry, and how long is not yet checked"
        if any("cure_hours" in kit.unchecked for kit in kits)
        else "Resin goes on curing after it feels dry"
    )
    wait = f"{days} {'day' if days == 1 else 'days'}"
    return [f"{cures}: please wait {wait} from the day it was coated before use."]
