"""The plan in words: refusals that name the nearest thing that would work, and reasons."""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.buying.reordering.market import MaterialNeed


def _plain_money(minor: int) -> str:
    return f"{minor / 100:.2f}"


def _plain_quantity(material: Hashable, quantity: Decimal) -> str:
    return f"{quantity.normalize():f}"


def _plain_date(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


@dataclass(frozen=True)
class Words:
    """How to write names and amounts, for those whose keys are numbers in a database.

    ``material``, ``supplier`` and ``pack`` take the key of each, ``money`` an amount, [minor
    units], and ``quantity`` a material's key and an amount of it, [mL, g or items].
    """

    material: Callable[[Hashable], str] = str
    supplier: Callable[[Hashable], str] = str
    pack: Callable[[Hashable], str] = str
    money: Callable[[int], str] = _plain_money
    quantity: Callable[[Hashable, Decimal], str] = _plain_quantity
    day: Callable[[date], str] = _plain_date


class PlanProblem(ValueError):
    """Raised when no plan works; the text names the cause and the nearest thing that would.

    ``code`` is one of ``"nobody_sells"``, ``"too_late"``, ``"over_budget"``, ``"undated"``,
    ``"negative"``, ``"bad_offer"`` and ``"bad_terms"``; ``materials`` are those concerned, and
    ``least`` is the budget [minor units] or the day that would do.
    """

    def __init__(
        self,
        code: str,
        sentence: str,
        materials: Sequence[Hashable] = (),
        least: int | date | None = None,
    ) -> None:
        self.code = code
        self.materials = tuple(materials)
        self.least = least
        super().__init__(sentence)

    @classmethod
    def nobody_sells(cls, materials: Sequence[Hashable], words: Words) -> "PlanProblem":
        """Return the refusal of materials without any offer."""
        names = listed([words.material(material) for material in materials])
        them = "it" if len(materials) == 1 else "them"
        return cls(
            "nobody_sells",
            f"No supplier offers {names}: add a pack with its price, or leave {them} out.",
            materials,
        )

    @classmethod
    def too_late(
        cls, material: Hashable, due: date, soonest: date, supplier: Hashable, words: Words
    ) -> "PlanProblem":
        """Return the refusal of a date before any lead time."""
        return cls(
            "too_late",
            f"{words.material(material)} is needed by {words.day(due)}, and the soonest it can "
            f"arrive is {words.day(soonest)}, from {words.supplier(supplier)}.",
            (material,),
            soonest,
        )

    @classmethod
    def over_budget(
        cls,
        whole: tuple[int, bool],
        budget: int,
        nearest: MaterialNeed[Hashable],
        least: tuple[int, bool],
        words: Words,
    ) -> "PlanProblem":
        """Return the refusal of a budget that covers not one need; ``nearest`` takes least.

        With the cost of all, and of the nearest, goes whether it is proved to be the least.
        """
        (total, is_proven), (cost, is_least) = whole, least
        standing = "least that covers everything" if is_proven else "least found for everything"
        phrase = "The least that it could buy" if is_least else "The least found that it could buy"
        of_all = f"; the {standing} is {words.money(total)}" if total > cost else ""
        amount = words.quantity(nearest.material, nearest.quantity)
        of = f" of {words.material(nearest.material)}"
        reason = f" for {nearest.reason}" if nearest.reason else ""
        return cls(
            "over_budget",
            f"The budget of {words.money(budget)} covers nothing. {phrase}, "
            f"{amount}{of}{reason}, takes {words.money(cost)} delivered{of_all}.",
            (nearest.material,),
            cost,
        )


def listed(names: Sequence[str]) -> str:
    """Join names as in a sentence.

    Parameters
    ----------
    names : sequence of str
        At least one, [-]

    Returns
    -------
    text : str
        The names with commas and "and", [-]

    Examples
    --------
    >>> listed(["white", "blue", "gold"])
    'white, blue and gold'
    """
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))
