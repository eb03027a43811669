"""What of the studio's work is found by a fragment."""

from pricing.models import (
    Commission,
    Customer,
    Invoice,
    Palette,
    PieceSet,
    Pour,
    Product,
    Quote,
    SavedSurface,
)
from studio.searching import Source
from studio.sight import ADDRESSES, PRICES

SOURCES = (
    Source(
        "Commissions",
        lambda studio: (
            Commission.objects.filter(studio=studio).select_related("customer").order_by("-number")
        ),
        "commission",
        ("title", "customer__name"),
        number="number",
        key="number",
        note=lambda row: f"{row.customer}, {row.get_status_display().lower()}",
    ),
    Source(
        "Customers",
        lambda studio: Customer.objects.filter(studio=studio, archived_at=None),
        "customer",
        ("name",),
        seen_fields={"email": ADDRESSES, "phone": ADDRESSES},
    ),
    Source(
        "Quotes",
        lambda studio: (
            Quote.objects.filter(studio=studio)
            .exclude(number=None)
            .select_related("commission__customer")
            .defer("frozen")
            .order_by("-number")
        ),
        "quote",
        ("commission__title", "commission__customer__name"),
        number="number",
        note=lambda row: f"{row.commission.title}, {row.commission.customer}",
        sights=(PRICES,),
    ),
    Source(
        "Invoices",
        lambda studio: Invoice.objects.filter(studio=studio).order_by("-number"),
        "invoice-pdf",
        number="number",
        key="number",
        sights=(PRICES,),
    ),
    Source(
        "Pours",
        lambda studio: (
            Pour.objects.standing()
            .filter(studio=studio)
            .select_related("surface", "palette")
            .order_by("-number")
        ),
        "pour",
        ("palette__name", "surface__name"),
        number="number",
        key="number",
        note=lambda row: f"{row.count} × {row.surface}, {row.palette}",
    ),
    Source(
        "Sets",
        lambda studio: PieceSet.objects.filter(studio=studio).order_by("-number"),
        "set",
        ("name",),
        number="number",
        key="number",
    ),
    Source(
        "Products",
        lambda studio: Product.objects.filter(studio=studio, archived_at=None),
        "product-edit",
        ("name",),
    ),
    Source(
        "Palettes",
        lambda studio: Palette.objects.filter(studio=studio, archived_at=None).distinct(),
        "palette-edit",
        (
            "name",
            "colours__recipe__name",
            "colours__recipe__parts__material__name",
            "colours__recipe__parts__material__pigments",
        ),
    ),
    Source(
        "Sizes",
        lambda studio: SavedSurface.objects.filter(studio=studio, archived_at=None),
        "surface-edit",
        ("name", "nominal"),
    ),
)
