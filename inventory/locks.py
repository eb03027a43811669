"""The one order in which stock is locked."""

from inventory.errors import NotInStudio


def lock_materials(studio, material_ids):
    """Lock materials in the order of their keys and return them by key, as they are now.

    Whoever changes stock, holds or orders queues here first, so nobody waits in a ring.
    """
    wanted = set(material_ids)
    rows = studio.materials.select_for_update().filter(pk__in=wanted).order_by("pk")
    found = {row.pk: row for row in rows}
    if len(found) < len(wanted):
        raise NotInStudio("There is no material like that in this studio.")
    return found
