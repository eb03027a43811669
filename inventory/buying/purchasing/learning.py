"""What a delivery tells of packs and their prices."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from django.db.models import Max

from inventory.models import Pack, Supplier
from inventory.steps import PRICE_BREAKS
from inventory.stock.ledger import Receipt
from inventory.validators import checked_quantity
from studio.models import Studio
from studio.money import ZERO


def learned(
    *,
    studio: Studio,
    supplier: Supplier,
    receipts: Iterable[Receipt],
    received_on: date,
    bought: Mapping[int, int],
) -> list[Receipt]:
    """Keep each price on its pack; a size not bought before becomes a pack of the supplier.

    A price that was paid for many at once is that of the price break they reach; ``bought`` is
    {pack key: packs ordered together}, where that is not what came. What came before the latest
    delivery of a pack is history, and changes no price. Returns the receipts with their packs.
    """
    packs_by_size = {
        (pack.material_id, pack.size): pack
        for pack in supplier.packs.order_by("-is_on_offer", "-pk")
    }
    pairs: list[tuple[Receipt, Pack]] = []
    for receipt in receipts:
        size = checked_quantity(receipt.material, receipt.quantity, above_zero=True)
        pack = receipt.pack or packs_by_size.get((receipt.material.pk, size))
        if pack is None:
            pack = Pack.objects.create(
                studio=studio,
                supplier=supplier,
                material=receipt.material,
                size=size,
                price=receipt.price or ZERO,
            )
            packs_by_size[receipt.material.pk, size] = pack
        pairs.append((receipt, pack))
    _learn_prices(studio, pairs, received_on, bought)
    return [replace(receipt, pack=pack) for receipt, pack in pairs]


def _learn_prices(
    studio: Studio,
    receipts: Sequence[tuple[Receipt, Pack]],
    received_on: date,
    bought: Mapping[int, int],
) -> None:
    pack_counts = Counter(pack.pk for _, pack in receipts)
    later = _packs_that_came_later(studio, pack_counts, received_on)
    for pack, price in {pack: receipt.price for receipt, pack in receipts}.items():
        if not price or pack.pk in later:
            continue
        _learn(pack, price, max(pack_counts[pack.pk], bought.get(pack.pk, 0)))


def _packs_that_came_later(studio: Studio, packs: Iterable[int], received_on: date) -> set[int]:
    bottles = studio.bottles.filter(pack__in=packs, delivery__entry__reversed_by=None).order_by()
    latest = bottles.values("pack").annotate(latest=Max("delivery__received_on"))
    return {row["pack"] for row in latest if row["latest"] and row["latest"] > received_on}


def _learn(pack: Pack, price: Decimal, count: int) -> None:
    """Set the price of so many; breaks that it leaves without a point are dropped."""
    levels = dict(PRICE_BREAKS.pairs(pack.price_breaks))
    step = max((least for least in levels if least <= count), default=None)
    before = pack.price, pack.price_breaks
    if step is None:
        pack.price = price
    elif price >= pack.price:
        del levels[step]  # even so many cost what one does
        pack.price = price
    else:
        levels[step] = price
    breaks, last = [], pack.price
    for least, break_price in sorted(levels.items()):
        if break_price < last:
            breaks.append((least, break_price))
            last = break_price
    pack.price_breaks = PRICE_BREAKS.stored(breaks)
    if (pack.price, pack.price_breaks) != before:
        pack.save(update_fields=["price", "price_breaks"])
