"""The door to the stock: materials are locked in one order, under the costing method of today."""

from collections.abc import Iterable, Mapping
from decimal import Decimal

from inventory.models import Material
from inventory.stock.costing_changes import take_effect
from inventory.stock.shelf import Shelf
from inventory.stock.shelf.rows import lock
from studio.models import Studio


def lock_materials(studio: Studio, material_ids: Iterable[int]) -> dict[int, Material]:
    """Lock materials in the order of their keys and return them by key, as they are now.

    Whoever changes stock, holds or orders queues here first, so nobody waits in a ring. A change of
    the costing method that has reached its day takes effect before the first lock is taken.
    """
    if studio.costing_is_due:
        take_effect(studio=studio)
    return lock(studio, material_ids)


def open_shelf(
    studio: Studio,
    material_ids: Iterable[int],
    bottle_ids: Iterable[int] = (),
    quantities: Mapping[int, Decimal] | None = None,
) -> Shelf:
    """Return the `Shelf` of an act; as above, what was due to change has changed by then."""
    if studio.costing_is_due:
        take_effect(studio=studio)
    return Shelf(studio, material_ids, bottle_ids, quantities)
