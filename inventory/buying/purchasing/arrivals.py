"""What came without an order: several packs at once, from one or several suppliers."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from inventory.buying.purchasing import terms
from inventory.buying.purchasing.deliveries import receive_delivery
from inventory.errors import BadAmount, OrderRefused
from inventory.models import Delivery, Material, Pack, Supplier
from inventory.stock.ledger import Receipt
from inventory.stock.locks import lock_materials
from studio.models import Studio
from studio.money import ZERO


@dataclass(frozen=True)
class Arrival:
    """So many equal packs that came: of a ``pack``, or of a ``material`` that nobody named sold.

    ``size`` is what is in each, [the material's unit], and ``price`` that of each, [currency];
    without them they are the pack's own, at the supplier's price for so many.
    """

    material: Material
    count: int
    pack: Pack | None = None
    size: Decimal | None = None
    price: Decimal | None = None
    expires_on: date | None = None

    @property
    def supplier(self) -> Supplier | None:
        return self.pack.supplier if self.pack else None

    def receipt(self) -> Receipt:
        """Return the receipt of one of the packs."""
        size, price, pack = self.size, self.price, self.pack
        if pack is not None:
            size = pack.size if size is None else size
            price = terms.unit_price(pack, self.count) if price is None else price
        if size is None or price is None:
            raise BadAmount(f"Say how much {self.material} is in each, and what each cost.")
        is_usual = pack is not None and size == pack.size
        return Receipt(
            material=self.material,
            quantity=size,
            value=price,
            pack=pack if is_usual else None,
            expires_on=self.expires_on,
        )


@transaction.atomic
def receive_arrivals(
    *,
    studio: Studio,
    by: User,
    arrivals: Sequence[Arrival],
    received_on: date | None = None,
    reference: str = "",
    freight: Decimal = ZERO,
) -> list[Delivery]:
    """Receive what came, all of it or nothing; returns the deliveries, one a supplier.

    Shipping is one supplier's: with several it is refused (`OrderRefused`), since nothing says
    whose it is. Otherwise as `receive_delivery`.
    """
    if not arrivals:
        raise OrderRefused("Say what came: at least one line.")
    suppliers = {one.supplier and one.supplier.pk: one.supplier for one in arrivals}
    if freight and len(suppliers) > 1:
        raise OrderRefused(
            "Shipping belongs to one supplier. Receive what came from each by itself, or leave it "
            "out."
        )
    lock_materials(studio, {one.material.pk for one in arrivals})
    return [
        receive_delivery(
            studio=studio,
            by=by,
            supplier=supplier,
            receipts=[
                receipt
                for one in arrivals
                if (one.supplier and one.supplier.pk) == key
                for receipt in [one.receipt()] * one.count
            ],
            received_on=received_on,
            freight=freight,
            reference=reference,
        )
        for key, supplier in suppliers.items()
    ]
