"""What may be asked to move, checked before anything is locked."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Self

from inventory.errors import BadAmount
from inventory.models import Bottle, Material, Movement, Pack
from inventory.models.movement import BRINGS_IN, EITHER_WAY, TAKES_OUT
from inventory.stock.costing import Scraped
from inventory.validators import checked_quantity, checked_value

Kind = Movement.Kind


@dataclass(frozen=True)
class Receipt:
    """One bottle that comes in: its content, in the material's unit, and what all of it is worth.

    ``price`` is what the invoice asked for it, where that differs from its landed ``value``;
    ``capacity`` is what it holds when full, where it comes in part used. A mix has no ``value`` of
    its own: it is worth what was taken for it.
    """

    material: Material
    quantity: Decimal
    value: Decimal | None
    pack: Pack | None = None
    expires_on: date | None = None
    place: str = ""
    tare_g: Decimal | None = None
    density_g_per_ml: Decimal | None = None
    code: str | None = None
    price: Decimal | None = None
    capacity: Decimal | None = None
    opened_on: date | None = None
    colours: str = ""

    def checked(self) -> Self:
        """Return the receipt rounded to what the ledger keeps, or refuse it."""
        material = self.material
        if not material.is_stocked:
            raise BadAmount(f"{material} is always there and is not counted.")
        if material.archived_at:
            raise BadAmount(f"{material} is archived. Bring it back first.")
        return replace(
            self,
            quantity=checked_quantity(material, self.quantity, above_zero=True),
            value=None if self.value is None else checked_value(self.value),
        )


@dataclass(frozen=True)
class StockMove:
    """One thing to move: an amount in the material's unit, negative for what leaves the shelf.

    What leaves comes out of ``bottle`` or, without one, out of the bottles of ``first`` and then
    the others in the order of use, at their own cost. What comes in goes into ``bottle`` or makes
    ``new_bottle``; its ``value`` is as given, the new bottle's, or at the bottle's unit value. A
    mix that comes in after what was mixed went out is worth just that.

    ``layers`` says how much of what leaves is for which layer of a pour. Run-off that comes in
    after that says in ``run_off`` how much of each layer it is, and in ``instead_of`` the layer
    whose mix it replaces, or else in ``value`` what as much of that costs; of no layer, it is worth
    nothing.
    """

    kind: str
    material: Material
    quantity: Decimal
    bottle: Bottle | None = None
    value: Decimal | None = None
    new_bottle: Receipt | None = None
    first: tuple[Bottle, ...] = ()
    layers: Mapping[str, Decimal] = field(default_factory=dict)
    run_off: Mapping[str, Scraped] = field(default_factory=dict)
    instead_of: str = ""

    def checked(self) -> Self:
        """Return the move rounded to what the ledger keeps, or refuse it."""
        size = checked_quantity(self.material, abs(self.quantity))
        comes_in = self.quantity > 0
        if not self.quantity and self.kind in BRINGS_IN:
            raise BadAmount(f"Give an amount of {self.material} above zero.")
        if self.kind not in [*(BRINGS_IN if comes_in else TAKES_OUT), *EITHER_WAY]:
            way = "brings stock in" if comes_in else "takes stock out"
            raise BadAmount(f"A movement of kind “{Kind(self.kind).label}” never {way}.")
        if not comes_in:
            return replace(self, quantity=-size)
        if (self.bottle is None) == (self.new_bottle is None):
            raise BadAmount("What comes in goes into one bottle: one that is there, or a new one.")
        if self.kind == Kind.RECLAIM and self.material.kind != Material.Kind.MIX:
            raise BadAmount(
                f"Run-off is kept as mixed or reclaimed paint, which {self.material} is not."
            )
        new = self.new_bottle and replace(self.new_bottle, quantity=size).checked()
        value = new.value if self.value is None and new else self.value
        return replace(
            self,
            quantity=size,
            new_bottle=new,
            value=None if value is None else checked_value(value),
        )
