"""What stands on a care card or a tag."""

from dataclasses import dataclass
from datetime import date

from pricing.fitness import CLEANING, NO_FOOD, OF_USE, Finish, heat_in_short, heat_words
from studio.dates import in_full

ASK_FIRST = "Ask us before you use it: from which day it is cured is not known."


@dataclass(frozen=True)
class CareWords:
    """What somebody who has a piece must know, in sentences, and in few words for a tag.

    ``made_for`` is empty where it is not said, and of what is for hot drinks: the heat says that.
    """

    made_for: str
    heat: str
    food: str
    ready: str
    cleaning: str
    tag: tuple[str, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """All of a card, in its order."""
        own = (self.made_for,) if self.made_for else ()
        return (*own, self.heat, self.food, self.ready, self.cleaning)


def care_words(use: str, finish: Finish, safe_from: date | None) -> CareWords:
    """Return the words of a card for pieces that are kept together.

    Parameters
    ----------
    use : str
        What they are for: ``hot``, ``food`` or ``look``, or nothing where it was not said, [-]
    finish : Finish
        What lies on them, [-]
    safe_from : date or None
        The day from which all of them may be used; None where it is not known, [-]

    Returns
    -------
    words : CareWords
        The strictest that one of the pieces asks for, [-]

    Examples
    --------
    >>> care_words("", Finish(), date(2026, 5, 12)).tag
    ('Nothing hot or wet on it', 'Not for food', 'Use from 12 May 2026')
    """
    ready, day = ASK_FIRST, "Ask us before you use it"
    if safe_from is not None:
        ready = f"Use it from {in_full(safe_from)}: until then it goes on curing."
        day = f"Use from {in_full(safe_from)}"
    return CareWords(
        made_for=OF_USE.get(use, ""),
        heat=heat_words(finish),
        food=NO_FOOD,
        ready=ready,
        cleaning=CLEANING,
        tag=(heat_in_short(finish), "Not for food", day),
    )
