"""A run: several of one product made in one go, and the materials and minutes they take."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Generic, TypeVar

from pricing.costing.output.errors import OutputError
from studio.money import ZERO

# Whatever tells products, and materials, apart.
What = TypeVar("What", bound=Hashable)
Stuff = TypeVar("Stuff", bound=Hashable)
Amounts = Mapping[Stuff, Decimal]


@dataclass(frozen=True)
class Run(Generic[Stuff]):
    """So many of one product made in one go, [-].

    ``needs`` is what it takes by material, [the material's unit], ``minutes`` the hands-on work,
    [min], and ``earned`` what it leaves, [currency]. None of them need grow in proportion: setting
    up is done once, what stays in the cups is lost once, a cup holds whole spoons.
    """

    count: int
    needs: Amounts[Stuff] = field(default_factory=dict)
    minutes: Decimal = ZERO
    earned: Decimal = ZERO

    def __post_init__(self) -> None:
        amounts = [self.minutes, *self.needs.values()]
        if self.count < 1 or any(not amount.is_finite() or amount < 0 for amount in amounts):
            raise OutputError("A run makes at least one, and takes no less than nothing.")


def missing(needs: Amounts[Stuff], available: Amounts[Stuff]) -> dict[Stuff, Decimal]:
    """Return what is needed beyond what is there.

    Parameters
    ----------
    needs : mapping of material to Decimal
        What is wanted of each, [the material's unit]
    available : mapping of material to Decimal
        What is there of each, nothing where it is not named, [the material's unit]

    Returns
    -------
    missing : dict of material to Decimal
        What must be bought, without what there is enough of, [the material's unit]

    Examples
    --------
    >>> missing({"tile": Decimal(8), "box": Decimal(2)}, {"tile": Decimal(5), "box": Decimal(2)})
    {'tile': Decimal('3')}
    """
    short = {key: need - max(available.get(key, ZERO), ZERO) for key, need in needs.items()}
    return {key: amount for key, amount in short.items() if amount > 0}
