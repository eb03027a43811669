"""What can be made, as pages and the API show it: each product by itself, and the best mix."""

from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Material, Pack
from pricing.models import Product

Amounts = tuple[tuple[Material, Decimal], ...]


@dataclass(frozen=True)
class ProductCapacity:
    """How many of one product can be made from what is there, and what stands in the way.

    ``limits`` is what one more would lack. With ``to_buy`` there could be ``further`` more, before
    ``then`` ran out too. ``price`` is what the customer reads, ``earns`` what one leaves, both
    [currency] and None for what cannot be made; ``problem`` says why nothing is known.
    """

    product: Product
    count: int = 0
    limits: Amounts = ()
    further: int = 0
    to_buy: Amounts = ()
    then: tuple[Material, ...] = ()
    price: Decimal | None = None
    earns: Decimal | None = None
    minutes: Decimal | None = None
    problem: str = ""


@dataclass(frozen=True)
class MixLine:
    """So many of a product in the mix: what they earn, [currency], and take, [min]."""

    product: Product
    count: int
    earned: Decimal
    minutes: Decimal


@dataclass(frozen=True)
class PackGain:
    """What one more pack of something would add, [currency]; with no pack it is one more hour."""

    earned: Decimal
    pack: Pack | None = None


@dataclass(frozen=True)
class BestMix:
    """The mix that earns most: its products, [currency], [min], and what stays on the shelf.

    ``left`` has what the products take, what is nearest to running out first.
    """

    made: tuple[MixLine, ...]
    earned: Decimal
    minutes: Decimal
    minutes_left: Decimal
    left: Amounts
    proven: bool
    more: tuple[PackGain, ...]


@dataclass(frozen=True)
class Producible:
    """How many of each product can be made, and the mix of them that earns most.

    ``nearest`` is what lacks least where nothing can be made at all.
    """

    possible: tuple[ProductCapacity, ...]
    best: BestMix
    nearest: ProductCapacity | None
