"""What stands on a care card: heat, food, when it may be used, cleaning. Unknown is the strictest.

The words repeat what makers of resin and paint commonly print, and stand in for no data sheet:
common practice, no source.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from studio.dates import in_full
from studio.units.numerals import trimmed

FOOD = "Not for contact with food. Use a plate."
CLEANING = (
    "Clean with a soft damp cloth and mild soap. No dishwasher, no solvents, no soaking, and keep "
    "it out of lasting sunlight."
)
ASK_FIRST = "Ask us before you use it: from which day it is cured is not known."


@dataclass(frozen=True)
class CareWords:
    """What somebody who has a piece must know, in sentences, and in few words for a tag."""

    heat: str
    food: str
    use: str
    cleaning: str
    tag: tuple[str, ...]


def care_words(
    limits_c: Collection[Decimal | None], *, has_bare: bool, safe_from: date | None
) -> CareWords:
    """Return the words of a card for pieces that are kept together.

    Parameters
    ----------
    limits_c : collection of Decimal or None
        The heat limit that the maker of each resin on them states; None where it states none, [°C]
    has_bare : bool
        Whether some of them have no resin
    safe_from : date or None
        The day from which all of them may be used; None where it is not known
    """
    heat, short = _heat(limits_c, has_bare)
    use = f"Use it from {in_full(safe_from)}: until then it goes on curing." if safe_from else ""
    day = f"Use from {in_full(safe_from)}" if safe_from else "Ask us before you use it"
    return CareWords(heat, FOOD, use or ASK_FIRST, CLEANING, (short, "Not for food", day))


def _heat(limits_c: Collection[Decimal | None], has_bare: bool) -> tuple[str, str]:
    if has_bare or not limits_c:
        return (
            "Paint without resin softens with heat and marks with water: put nothing hot or wet on "
            "it.",
            "Nothing hot or wet on it",
        )
    stated = [one for one in limits_c if one is not None]
    if len(stated) < len(limits_c):
        return (
            "No heat limit is stated for this resin: use a mat under anything hot.",
            "Mat under anything hot",
        )
    limit = trimmed(min(stated))
    return (
        f"The maker of the resin states a heat limit of {limit} °C. Put nothing hotter on it, and "
        "use a mat under hot cups.",
        f"No more than {limit} °C: mat under hot cups",
    )
