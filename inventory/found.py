"""What of the stock room is found by a fragment."""

from django.db.models import F

from inventory.models import Bottle, Material, PurchaseOrder, Recipe, Supplier
from studio.searching import Source

SOURCES = (
    Source(
        "Materials",
        lambda studio: Material.objects.filter(studio=studio, archived_at=None).distinct(),
        "material",
        ("name", "pigments", "packs__supplier_code"),
        note=lambda row: row.get_kind_display(),
    ),
    Source(
        "Bottles",
        # Those that are empty are still known by their code.
        lambda studio: (
            Bottle.objects.filter(studio=studio)
            .select_related("material")
            .order_by(F("archived_at").asc(nulls_first=True), "code")
        ),
        "bottle",
        ("code", "place", "colours", "material__name", "material__pigments"),
        key="code",
        note=lambda row: "Empty" if row.archived_at else row.place,
        exact="code",
    ),
    Source(
        "Recipes",
        lambda studio: Recipe.objects.filter(studio=studio, archived_at=None).distinct(),
        "recipe",
        ("name", "parts__material__name", "parts__material__pigments"),
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
