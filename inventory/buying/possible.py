"""What may be used besides what is on record and promised: work offered and not yet answered.

``sources`` is how an app above tells of it without this one knowing that app: in its
``AppConfig.ready`` it appends a function that takes the studio and yields `PossibleUse`.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory.buying.reordering import Chance, ExpectedUse, expected_of
from studio.models import Studio


@dataclass(frozen=True)
class PossibleUse:
    """So much of one material, [its unit], with a chance, [-]: all of it or nothing.

    ``label`` names the work, ``needed_by`` is its day, if it has one, and ``because`` says in a
    sentence where the chance comes from.
    """

    material_id: int
    quantity: Decimal
    chance: float
    label: str
    needed_by: date | None = None
    because: str = ""

    @property
    def expected(self) -> Decimal:
        """What is to be expected of it on average, [the material's unit]."""
        return self.quantity * Decimal(self.chance)


Source = Callable[[Studio], Iterable[PossibleUse]]

# Apps above add their own when they are ready.
sources: list[Source] = []


def possible_uses(studio: Studio) -> defaultdict[int, list[PossibleUse]]:
    """Return {material key: [`PossibleUse`]}, in as many queries as the sources ask."""
    uses = defaultdict(list)
    for source in sources:
        for use in source(studio):
            uses[use.material_id].append(use)
    return uses


def by_delivery(
    uses: Iterable[PossibleUse], today: date, lead_days: Decimal | float
) -> list[PossibleUse]:
    """Return the uses needed before an order of today arrives; undated work can wait for it."""
    last = today + timedelta(days=float(lead_days))
    return [use for use in uses if use.needed_by and use.needed_by <= last]


def by_review(
    uses: Iterable[PossibleUse], today: date, lead_days: Decimal | float, review_days: int
) -> list[PossibleUse]:
    """Return the uses needed before the review after the next delivery, or at no set date."""
    last = today + timedelta(days=float(lead_days) + review_days)
    return [use for use in uses if not use.needed_by or use.needed_by <= last]


def as_chances(uses: Iterable[PossibleUse]) -> list[Chance]:
    """Return possible uses as `Chance`, which the arithmetic of reordering takes."""
    return [Chance(float(use.quantity), use.chance) for use in uses]


def expected(uses: Iterable[PossibleUse]) -> ExpectedUse:
    """Return the mean of what will be used and its standard deviation, [the material's unit]."""
    return expected_of(as_chances(uses))
