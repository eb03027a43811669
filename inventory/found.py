"""What of the stock room is found by a fragment."""

from inventory.models import Bottle, Material, PurchaseOrder, Recipe, Supplier
from studio.searching import Source

SOURCES = (
    Source(
        "Materials",
        lambda studio: Material.objects.filter(studio=studio, archived_at=None),
        "material",
        ("name", "pigments"),
        note=lambda row: row.get_kind_display(),
    ),
    Source(
        "Bottles",
        lambda studio: (
            Bottle.objects.on_shelf()
            .filter(studio=studio)
            .select_related("material")
            .order_by("code")
        ),
        "bottle",
        ("code", "place"),
        key="code",
        note=lambda row: row.place,
    ),
    Source(
        "Recipes",
        lambda studio: Recipe.objects.filter(studio=studio, archived_at=None),
        "recipe",
        ("name",),
    ),
    Source(
        "Suppliers",
        lambda studio: Supplier.objects.filter(studio=studio, archived_at=None),
        "supplier",
        ("name",),
    ),
    Source(
        "Orders",
        lambda studio: PurchaseOrder.objects.filter(studio=studio).select_related("supplier"),
        "order",
        ("supplier__name",),
        number="number",
        key="number",
        note=lambda row: row.get_status_display(),
    ),
)
