"""The one order in which stock is locked."""

from inventory.errors import NotInStudio
from inventory.models import Material
from inventory.stock.signals import costing_due


def lock_materials(studio, material_ids):
    """Lock materials in the order of their keys and return them by key, as they are now.

    Whoever changes stock, holds or orders queues here first, so nobody waits in a ring. A change of
    the costing method that has reached its day takes effect before the first lock is taken.
    """
    if studio.costing_is_due:
        costing_due.send(sender=type(studio), studio=studio)
    wanted = set(material_ids)
    rows = Material.objects.select_for_update().filter(studio=studio, pk__in=wanted)
    found = {row.pk: row for row in rows.order_by("pk")}
    if len(found) < len(wanted):
        raise NotInStudio("There is no material like that in this studio.")
    return found
