"""What whoever has a piece must know of heat, food and cleaning, in words.

They repeat what makers of resin and paint commonly print, and stand in for no data sheet: common
practice, no source.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from pricing.fitness.uses import FOOD, LOOK
from studio.units import degrees

# What a hot cup may have, [C]. Sellers of resin publish: a cup leaves a ring where the resin gives
# way at 38 to 54 C; nothing at or above 74 C; a coaster maker's own resin takes cups, to 90 C after
# 21 to 28 days. So the last is what a resin must state to be fit for them.
HOT_CUP_C = Decimal(90)

NO_FOOD = "Not for contact with food. Use a plate."
CLEANING = (
    "Clean with a soft damp cloth and mild soap. No dishwasher, no solvents, no soaking, and keep "
    "it out of lasting sunlight."
)
OF_USE = {
    FOOD: "It is made for food nearby, which stays on its plate.",
    LOOK: "It is made to look at: put no cups and no food on it.",
}


def takes_hot_cups(limit_c: Decimal | None) -> bool:
    """Tell whether a resin is fit for hot cups by the heat limit that its maker states.

    Parameters
    ----------
    limit_c : Decimal or None
        The limit; None where it is not known, [C]

    Returns
    -------
    takes : bool
        Not, where nobody knows, [-]

    Examples
    --------
    >>> takes_hot_cups(Decimal(90)), takes_hot_cups(Decimal(50)), takes_hot_cups(None)
    (True, False, False)
    """
    return limit_c is not None and limit_c >= HOT_CUP_C


@dataclass(frozen=True)
class Finish:
    """What lies on pieces that are kept together, or will.

    Parameters
    ----------
    limits_c : tuple of Decimal or None
        The heat limit that the maker of each resin on them states; None where none is known, [C]
    has_bare : bool
        Whether some of them have no resin, [-]
    cure_known : bool
        Whether it is known of every resin when it is fully cured, [-]
    """

    limits_c: tuple[Decimal | None, ...] = ()
    has_bare: bool = False
    cure_known: bool = True

    @property
    def is_bare(self) -> bool:
        """Whether the least of them has no resin."""
        return self.has_bare or not self.limits_c

    @property
    def heat_limit_c(self) -> Decimal | None:
        """The least limit, or None where one is not known or a piece is bare, [C]."""
        stated = [one for one in self.limits_c if one is not None]
        return None if self.is_bare or len(stated) < len(self.limits_c) else min(stated)

    @property
    def takes_hot_cups(self) -> bool:
        """Whether the makers of all the resins state that they take a hot cup."""
        return takes_hot_cups(self.heat_limit_c)


def heat_words(finish: Finish) -> str:
    """Return what to mind of heat, a sentence or two.

    Parameters
    ----------
    finish : Finish
        What lies on the pieces, [-]

    Returns
    -------
    words : str
        The strictest that one of the pieces asks for, [-]

    Examples
    --------
    >>> heat_words(Finish((Decimal(90), None)))
    'No heat limit is known for this resin: put nothing hot on it, and a mat under every cup.'
    """
    if finish.is_bare:
        return (
            "Paint without resin softens with heat and marks with water: put nothing hot or wet on "
            "it."
        )
    limit = finish.heat_limit_c
    if limit is None:
        return (
            "No heat limit is known for this resin: put nothing hot on it, and a mat under every "
            "cup."
        )
    stated = (
        f"The maker of the resin states a heat limit of {degrees(limit)}. Put nothing hotter on it"
    )
    if finish.takes_hot_cups:
        return f"{stated}, such as a pan or a pot."
    return f"{stated}, and use a mat under hot cups: they are hotter."


def heat_in_short(finish: Finish) -> str:
    """Return what to mind of heat in a few words, for a tag.

    Parameters
    ----------
    finish : Finish
        What lies on the pieces, [-]

    Returns
    -------
    words : str
        As `heat_words`, shorter, [-]

    Examples
    --------
    >>> heat_in_short(Finish((Decimal(50),)))
    'No more than 50 °C (122 °F): mat under hot cups'
    """
    if finish.is_bare:
        return "Nothing hot or wet on it"
    limit = finish.heat_limit_c
    if limit is None:
        return "Nothing hot on it: mat under cups"
    mat = "no pans or pots" if finish.takes_hot_cups else "mat under hot cups"
    return f"No more than {degrees(limit)}: {mat}"


def words_of(use: str, finish: Finish) -> tuple[str, ...]:
    """Return what every paper and page says of pieces: what they are for, heat and food.

    Parameters
    ----------
    use : str
        What they are for: ``hot``, ``food`` or ``look``, or nothing where it was not said, [-]
    finish : Finish
        What lies on them, [-]

    Returns
    -------
    words : tuple of str
        Whole sentences, [-]

    Examples
    --------
    >>> words_of("look", Finish())[0]
    'It is made to look at: put no cups and no food on it.'
    """
    own = OF_USE.get(use)
    return (*((own,) if own else ()), heat_words(finish), NO_FOOD)


def told_of_each(told: Iterable[tuple[str, Iterable[str]]]) -> list[str]:
    """Return the sentences of several things together, each said once.

    Parameters
    ----------
    told : iterable of (str, iterable of str)
        What each thing is called, and what is said of it, [-]

    Returns
    -------
    sentences : list of str
        What is said of all of them as it is, other sentences after the names they are said of, [-]

    Examples
    --------
    >>> told_of_each([("Set 1", ["No heat."]), ("Set 2", ["No heat.", "No food."])])
    ['No heat.', 'Set 2: No food.']
    """
    names: dict[str, None] = {}
    said: dict[str, dict[str, None]] = {}
    for name, sentences in told:
        names[name] = None
        for sentence in sentences:
            said.setdefault(sentence, {})[name] = None
    return [
        sentence if len(whose) == len(names) else f"{', '.join(whose)}: {sentence}"
        for sentence, whose in said.items()
    ]
