"""What materials cost the studio now: what the bottles it would take from cost, or a new pack."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from django.db.models import Max

from inventory.models import Bottle, Material, Movement, Pack
from inventory.stock.costing import Lot, issue
from pricing.errors import NoPriceKnown
from studio.models import Studio
from studio.money import VALUE_PLACES, ZERO

ON_HAND = "bottles on hand, in the order they are used"
AVERAGE = "moving average of what is on hand"
PARTLY = "part from bottles on hand, the rest at the cheapest pack"
PACK = "cheapest pack on offer"
LAST_PAID = "last price paid"
ALWAYS_THERE = "always there, costs nothing"


@dataclass(frozen=True)
class MaterialPrice:
    """What a quantity of one material costs, [currency], and where that price comes from."""

    material: Material
    quantity: Decimal
    value: Decimal
    source: str

    @property
    def unit_price(self) -> Decimal:
        """Price of one mL, g or item, to six places, [currency]."""
        if not self.quantity:
            return ZERO
        return (self.value / self.quantity).quantize(VALUE_PLACES, ROUND_HALF_UP)

    def cost(self, quantity: Decimal) -> Decimal:
        """Cost of a quantity at the unit price, to six places, [currency]."""
        return (self.unit_price * quantity).quantize(VALUE_PLACES, ROUND_HALF_UP)


class PriceBook:
    """What some materials cost a studio now, for any quantity of each; read in three queries.

    What is on hand is priced as the studio costs it: FIFO, each bottle at its own cost in the order
    of use, or the moving average. What goes beyond it is priced at the cheapest pack on offer, by
    the unit, or at the last price paid when no pack is on offer.
    """

    def __init__(self, studio: Studio, materials: Iterable[Material]) -> None:
        counted = [material for material in materials if material.is_stocked]
        self.studio, self.lots = studio, _lots(counted)
        self.packs, self.paid = _packs(counted), _last_paid(counted)

    def price(self, material: Material, quantity: Decimal) -> MaterialPrice | None:
        """Return the `MaterialPrice`; None for what was never bought and has no pack."""
        new_price = self.packs.get(material.pk, self.paid.get(material.pk))
        from_pack = material.pk in self.packs
        lots = self.lots[material.pk]
        return _price(self.studio, material, quantity, lots, new_price, from_pack)


def prices(studio: Studio, needs: Mapping[Material, Decimal]) -> dict[Material, MaterialPrice]:
    """Return {material: MaterialPrice} for quantities of materials, see `PriceBook`.

    Raises `NoPriceKnown`, naming every material that was never bought and has no pack.
    """
    found, unknown = prices_known(studio, needs)
    if unknown:
        raise NoPriceKnown(no_price(unknown))
    return found


def prices_known(
    studio: Studio, needs: Mapping[Material, Decimal]
) -> tuple[dict[Material, MaterialPrice], list[Material]]:
    """Return as `prices` does what is known, and a list of the materials of which no price is."""
    book = PriceBook(studio, needs)
    found = {material: book.price(material, quantity) for material, quantity in needs.items()}
    unknown = [material for material, price in found.items() if price is None]
    return {material: price for material, price in found.items() if price is not None}, unknown


def no_price(materials: Iterable[Material]) -> str:
    """Say that these materials have no price, and what to do about it."""
    names = ", ".join(sorted(material.name for material in materials))
    return f"No price is known for {names}. Add a pack with its price, or receive some."


def replacement_costs(materials: Iterable[Material]) -> dict[int, Decimal]:
    """Return {material key: what one unit costs to buy anew, [currency]}, in two queries.

    That is the price of the cheapest pack on offer or, where none is, the last price paid;
    materials of which neither is known are left out.
    """
    materials = list(materials)
    return _last_paid(materials) | _packs(materials)


def _price(
    studio: Studio,
    material: Material,
    quantity: Decimal,
    lots: Sequence[Lot],
    new_price: Decimal | None,
    from_pack: bool,
) -> MaterialPrice | None:
    if not material.is_stocked:
        return MaterialPrice(material, quantity, ZERO, ALWAYS_THERE)
    on_hand = sum((lot.quantity for lot in lots), ZERO)
    covered = min(quantity, on_hand)
    missing = quantity - covered
    if missing and new_price is None and not on_hand:
        return None
    value = _value_on_hand(studio, lots, covered, on_hand)
    if not missing:
        average = studio.costing_in_force == Studio.Costing.MOVING_AVERAGE
        return MaterialPrice(material, quantity, value, AVERAGE if average else ON_HAND)
    if new_price is None:  # what is on hand was never bought: it sets the price
        return MaterialPrice(material, quantity, _round(value * quantity / covered), LAST_PAID)
    source = (PACK if from_pack else LAST_PAID) if not covered else PARTLY
    return MaterialPrice(material, quantity, _round(value + missing * new_price), source)


def _value_on_hand(
    studio: Studio, lots: Sequence[Lot], covered: Decimal, on_hand: Decimal
) -> Decimal:
    if not covered:
        return ZERO
    if studio.costing_in_force == Studio.Costing.MOVING_AVERAGE:
        return _round(sum((lot.value for lot in lots), ZERO) * covered / on_hand)
    return sum((take.value for take in issue(lots, covered)), ZERO)


def _lots(materials: Collection[Material]) -> defaultdict[int, list[Lot]]:
    lots: defaultdict[int, list[Lot]] = defaultdict(list)
    for bottle in Bottle.objects.filter(material__in=materials, remaining__gt=0).on_shelf():
        lots[bottle.material_id].append(
            Lot(bottle.pk, bottle.remaining, bottle.value, bottle.expires_on, bottle.received_on)
        )
    return lots


def _packs(materials: Collection[Material]) -> dict[int, Decimal]:
    """Return the least price of one unit among the packs on offer, by material."""
    cheapest: dict[int, Decimal] = {}
    for pack in Pack.objects.on_offer().filter(material__in=materials):
        unit_price = pack.price / pack.size
        cheapest[pack.material_id] = min(unit_price, cheapest.get(pack.material_id, unit_price))
    return cheapest


def _last_paid(materials: Collection[Material]) -> dict[int, Decimal]:
    """Return what one unit cost when it last came in, by material."""
    bought = Movement.objects.filter(
        material__in=materials,
        kind__in=(Movement.Kind.RECEIPT, Movement.Kind.OPENING),
        entry__reversed_by=None,
    )
    latest = bought.order_by().values("material").annotate(latest=Max("pk")).values("latest")
    found = Movement.objects.filter(pk__in=latest).values_list("material_id", "value", "quantity")
    return {material_id: value / quantity for material_id, value, quantity in found}


def _round(amount: Decimal) -> Decimal:
    return amount.quantize(VALUE_PLACES, ROUND_HALF_UP)
