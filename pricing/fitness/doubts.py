"""Why pieces may not be fit for what they are for, told to their maker."""

from dataclasses import dataclass

from pricing.fitness.uses import FOOD, HOT
from pricing.fitness.words import HOT_CUP_C, Finish
from studio.units import degrees


@dataclass(frozen=True)
class Doubt:
    """One reason: its code, and a sentence that says what to do about it."""

    code: str
    sentence: str


def doubts(use: str, finish: Finish, *, is_made: bool = False) -> tuple[Doubt, ...]:
    """Return why pieces are not fit for what they count as being for; nothing where they are.

    Parameters
    ----------
    use : str
        ``hot``, ``food`` or ``look``, as `counts_as` gives it, [-]
    finish : Finish
        What lies on the pieces, or will, [-]
    is_made : bool
        Whether they are made: from which day they are cured is then told of each pour, [-]

    Returns
    -------
    doubts : tuple of Doubt
        In the order in which they weigh, [-]

    Examples
    --------
    >>> [one.code for one in doubts("hot", Finish((None,)))]
    ['heat_limit_not_known']
    >>> doubts("look", Finish())
    ()
    """
    if use not in (HOT, FOOD):
        return ()
    found = _of_heat(finish) if use == HOT else _of_food(finish)
    if not (finish.is_bare or finish.cure_known or is_made):
        return (*found, CURE_NOT_KNOWN)
    return found


CURE_NOT_KNOWN = Doubt(
    "full_cure_not_known",
    "The full cure of the resin is not known, so nobody can say from which day it may be used. "
    "Read it off the label and enter it with the kit.",
)


def _of_heat(finish: Finish) -> tuple[Doubt, ...]:
    if finish.is_bare:
        return (
            Doubt(
                "no_resin_for_cups",
                "Without resin the paint softens under a hot cup and sticks to it. Give it a "
                "topcoat of a resin made for coasters, or say that it is to look at.",
            ),
        )
    if finish.heat_limit_c is None:
        return (
            Doubt(
                "heat_limit_not_known",
                "The heat limit of the resin is not known, and a hot cup may have "
                f"{degrees(HOT_CUP_C)}. Read the limit off the label and enter it with the kit.",
            ),
        )
    if not finish.takes_hot_cups:
        return (
            Doubt(
                "heat_limit_too_low",
                f"The resin's maker states a heat limit of {degrees(finish.heat_limit_c)}, and "
                f"a hot cup may have {degrees(HOT_CUP_C)}. Take a resin made for coasters, or say "
                "that it is to look at.",
            ),
        )
    return ()


def _of_food(finish: Finish) -> tuple[Doubt, ...]:
    if not finish.is_bare:
        return ()
    return (
        Doubt(
            "no_resin_for_food",
            "Without resin the paint cannot be wiped clean of grease and crumbs. Give it a "
            "topcoat, or say that it is to look at.",
        ),
    )
