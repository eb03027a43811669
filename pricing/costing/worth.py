"""What materials cost a studio off its shelf: by the bottles it would take from, in their turn."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from copy import copy
from decimal import Decimal

from inventory.models import Bottle, Material, Work
from inventory.stock import holds
from inventory.stock.costing import Lot, issue
from pricing.costing.material_prices import (
    ALWAYS_THERE,
    MaterialPrice,
    no_price,
    to_value,
)
from pricing.costing.replacement import known_replacement_prices
from pricing.errors import NoPriceKnown
from studio.models import Studio
from studio.money import ZERO

ON_HAND = "bottles on hand, in the order they are used"
AVERAGE = "moving average of what is on hand"
PARTLY = "part from bottles on hand, the rest bought"


class PriceBook:
    """What some materials cost a studio now, for any quantity of each, in a few queries.

    What is on hand is priced as the studio costs it: FIFO, each bottle at its own cost in the order
    of use, or the moving average. Its turn comes after what is promised to other work than
    ``work``, and after what was taken of the book before, see `take`. What goes beyond it is priced
    at what it costs to replace.
    """

    def __init__(
        self,
        studio: Studio,
        materials: Iterable[Material],
        *,
        work: Work | None = None,
        anew: Mapping[Material, MaterialPrice] | None = None,
    ) -> None:
        """``anew`` is what all of them cost to replace, where it is known already."""
        stocked = [material for material in materials if material.is_stocked]
        self.studio, self.lots = studio, _lots(stocked)
        self.anew = known_replacement_prices(studio, stocked)[0] if anew is None else anew
        self.promised = holds.coverage(studio, stocked)
        self.work_id = work.pk if work else None
        self.taken: defaultdict[int, Decimal] = defaultdict(lambda: ZERO)

    def price(self, material: Material, quantity: Decimal) -> MaterialPrice | None:
        """Return the `MaterialPrice`; None for what was never bought and has no pack."""
        if not material.is_stocked:
            return MaterialPrice(material, quantity, ZERO, ALWAYS_THERE)
        lots, anew, before = self.lots[material.pk], self.anew.get(material), self._before(material)
        free = max(sum((lot.quantity for lot in lots), ZERO) - before, ZERO)
        covered = min(quantity, free)
        missing = quantity - covered
        if missing and anew is None:
            return None
        value = self._on_hand(lots, before, covered)
        if anew is None or not missing:
            average = self.studio.costing_in_force == Studio.Costing.MOVING_AVERAGE
            return MaterialPrice(material, quantity, value, AVERAGE if average else ON_HAND)
        source = PARTLY if covered else anew.source
        return MaterialPrice(material, quantity, to_value(value + anew.cost(missing)), source)

    def again(self) -> "PriceBook":
        """Return a book of its own that starts where this one stands."""
        book = copy(self)
        book.taken = self.taken.copy()
        return book

    def of(self, work_id: int) -> "PriceBook":
        """Return the book as it is for a work: what is promised to that is its own."""
        book = self.again()
        book.work_id = work_id
        return book

    def take(self, material: Material, quantity: Decimal) -> None:
        """Leave a quantity to what was priced last: what is priced next comes after it."""
        self.taken[material.pk] += quantity

    def _before(self, material: Material) -> Decimal:
        """How much is others' turn: promised to other work, or taken before."""
        others = (
            covered
            for hold, covered in self.promised.items()
            if hold.material_id == material.pk and hold.work_id != self.work_id
        )
        return sum(others, self.taken[material.pk])

    def _on_hand(self, lots: Sequence[Lot], before: Decimal, quantity: Decimal) -> Decimal:
        if not quantity:
            return ZERO
        if self.studio.costing_in_force == Studio.Costing.MOVING_AVERAGE:
            on_hand = sum((lot.quantity for lot in lots), ZERO)
            return to_value(sum((lot.value for lot in lots), ZERO) * quantity / on_hand)
        return _worth(lots, before + quantity) - _worth(lots, before)


def prices(
    studio: Studio,
    needs: Mapping[Material, Decimal],
    anew: Mapping[Material, MaterialPrice] | None = None,
) -> dict[Material, MaterialPrice]:
    """Return {material: MaterialPrice} for quantities of materials, see `PriceBook`.

    Raises `NoPriceKnown`, naming every material that was never bought and has no pack.
    """
    by_material, unknown = known_prices(studio, needs, anew)
    if unknown:
        raise NoPriceKnown(no_price(unknown))
    return by_material


def known_prices(
    studio: Studio,
    needs: Mapping[Material, Decimal],
    anew: Mapping[Material, MaterialPrice] | None = None,
) -> tuple[dict[Material, MaterialPrice], list[Material]]:
    """Return {material: MaterialPrice} as `prices` does, and the materials without a price."""
    book = PriceBook(studio, needs, anew=anew)
    by_material = {material: book.price(material, quantity) for material, quantity in needs.items()}
    unknown = [material for material, price in by_material.items() if price is None]
    return {
        material: price for material, price in by_material.items() if price is not None
    }, unknown


def _worth(lots: Sequence[Lot], quantity: Decimal) -> Decimal:
    """Return what the first so much of some bottles is worth, [currency]."""
    return sum((take.value for take in issue(lots, quantity)), ZERO) if quantity else ZERO


def _lots(materials: Collection[Material]) -> defaultdict[int, list[Lot]]:
    lots: defaultdict[int, list[Lot]] = defaultdict(list)
    for bottle in Bottle.objects.filter(material__in=materials, remaining__gt=0).on_shelf():
        lots[bottle.material_id].append(
            Lot(bottle.pk, bottle.remaining, bottle.value, bottle.expires_on, bottle.received_on)
        )
    return lots
