"""The price of a quantity of a material, whatever it rests on."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from inventory.models import Material, Pack
from studio.money import VALUE_PLACES, ZERO

ALWAYS_THERE = "always there, costs nothing"


@dataclass(frozen=True)
class MaterialPrice:
    """What a quantity of one material costs, [currency], and where that price comes from.

    ``is_known`` is False where nobody has said what it costs: its value is then that of something
    alike, or nothing.
    """

    material: Material
    quantity: Decimal
    value: Decimal
    source: str
    is_known: bool = True

    @property
    def unit_price(self) -> Decimal:
        """Price of one mL, g or item, to six places, [currency]."""
        if not self.quantity:
            return ZERO
        return to_value(self.value / self.quantity)

    def cost(self, quantity: Decimal) -> Decimal:
        """Cost of a quantity in proportion, to six places, [currency]."""
        if not self.quantity:
            return ZERO
        return to_value(self.value * quantity / self.quantity)


def no_price(materials: Iterable[Material]) -> str:
    """Return the sentence that these materials have no price, and what to do about it."""
    names = ", ".join(sorted(material.name for material in materials))
    return f"No price is known for {names}. Add a pack with its price, or receive some."


def cheapest_packs(materials: Collection[Material]) -> dict[int, Decimal]:
    """Return the least price of one unit among the packs on offer, by material."""
    cheapest: dict[int, Decimal] = {}
    for pack in Pack.objects.on_offer().filter(material__in=materials):
        unit_price = pack.price / pack.size
        cheapest[pack.material_id] = min(unit_price, cheapest.get(pack.material_id, unit_price))
    return cheapest


def to_value(amount: Decimal) -> Decimal:
    """Round an amount to the six places that values have, [currency]."""
    return amount.quantize(VALUE_PLACES, ROUND_HALF_UP)
