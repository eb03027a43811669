"""Refusals of the stock room, each with its code; sentences are built from their facts."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Protocol

from inventory.models import Bottle
from inventory.words import amount
from studio.errors import StudioError


class ShortMaterial(Protocol):
    """A material that is short, in a sentence."""

    @property
    def sentence(self) -> str: ...


class StockShortfall(StudioError):
    """There is not enough to take, once what is promised to other work is left alone.

    ``shortages`` holds an `inventory.stock.holds.Shortage` for every material that is short.
    """

    code = "stock_shortfall"

    def __init__(self, shortages: Iterable[ShortMaterial]) -> None:
        self.shortages = tuple(shortages)
        super().__init__(" ".join(short.sentence for short in self.shortages))


class BadAmount(StudioError):
    """An amount, a value or a date that stock cannot have."""

    code = "bad_amount"


class NotInStudio(StudioError):
    """Something named is not the studio's."""

    code = "not_in_this_studio"


class NotInBottle(StudioError):
    """More is to come out of a bottle than is in it."""

    code = "not_in_bottle"

    def __init__(self, bottle: Bottle, quantity: Decimal) -> None:
        self.bottle, self.quantity = bottle, quantity
        material = bottle.material
        super().__init__(
            f"{bottle.named} holds {amount(material, bottle.remaining)}, and "
            f"{amount(material, quantity)} is to come out. Weigh or count it if it holds more."
        )


class DecantRefused(StudioError):
    """What is in one bottle cannot be poured into the other."""

    code = "decant_refused"


class LabelsRefused(StudioError):
    """Labels that cannot be printed as asked."""

    code = "labels_refused"


class NotWeighable(StudioError):
    """The weight of a bottle cannot say what is in it."""

    code = "not_weighable"


class CannotReverse(StudioError):
    """An entry that was undone already, or whose stock has moved on."""

    code = "cannot_reverse"


class CostingRefused(StudioError):
    """The costing method cannot change like that; what has been posted stays as it was."""

    code = "costing_refused"


class OrderRefused(StudioError):
    """An order is not at the point where this can be done to it."""

    code = "order_refused"


class PlanRefused(StudioError):
    """No purchase does what was asked; the sentence names the nearest that would."""

    code = "no_plan"


class RecipeRefused(StudioError):
    """A recipe that cannot be mixed as written."""

    code = "recipe_refused"


class BatchRefused(StudioError):
    """A batch that cannot have been mixed as it was written down."""

    code = "batch_refused"


class CountRefused(StudioError):
    """A shelf count is not at the point where this can be done to it."""

    code = "count_refused"


class SurprisingCount(StudioError):
    """What was found is far from the books: weigh again, or say that it is right.

    ``bottle``, ``expected`` and ``counted``, in its material's unit, are what to look at.
    """

    code = "surprising_count"

    def __init__(
        self, sentence: str, *, bottle: Bottle, expected: Decimal, counted: Decimal
    ) -> None:
        self.bottle, self.expected, self.counted = bottle, expected, counted
        super().__init__(sentence)


class NotKnownThen(StudioError):
    """A day before what is asked for was kept."""

    code = "not_known_then"
