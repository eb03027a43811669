"""Stored recipes that would contain themselves."""

from collections.abc import Hashable, Iterable, Mapping
from graphlib import CycleError, TopologicalSorter

from inventory.mixing.proportions.errors import RecipeError


def find_cycle(graph: Mapping[Hashable, Iterable[Hashable]]) -> tuple[Hashable, ...] | None:
    """Return recipes that contain each other in a ring, or None.

    Parameters
    ----------
    graph : mapping of key to keys
        For each stored recipe the recipes it contains, [-]

    Returns
    -------
    ring : tuple of keys, or None
        Each contains the next, and the last is the first, [-]

    Examples
    --------
    >>> find_cycle({"base": ["medium"], "medium": ["base"]})
    ('base', 'medium', 'base')
    >>> find_cycle({"base": ["medium"], "medium": []}) is None
    True
    """
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        ring = tuple(reversed(error.args[1]))[:-1]
        # Start at the ring's first recipe in the mapping, so that the same ring reads the same.
        start = ring.index(next(key for key in graph if key in ring))
        return (*ring[start:], *ring[: start + 1])
    return None


def refuse_cycle(
    graph: Mapping[Hashable, Iterable[Hashable]], names: Mapping[Hashable, str]
) -> None:
    """Refuse recipes that contain themselves, naming the ring.

    Parameters
    ----------
    graph : mapping of key to keys
        For each stored recipe the recipes it contains, [-]
    names : mapping of key to str
        What each recipe is called, [-]

    Returns
    -------
    None

    Raises
    ------
    RecipeError
        If there is a ring.

    Examples
    --------
    >>> refuse_cycle({1: [2], 2: [1]}, {1: "A", 2: "B"})
    Traceback (most recent call last):
    ...
    inventory.mixing.proportions.errors.RecipeError: A recipe cannot contain itself: A → B → A.
    """
    ring = find_cycle(graph)
    if ring:
        path = " → ".join(names[key] for key in ring)
        raise RecipeError(f"A recipe cannot contain itself: {path}.")
