"""The registers of customers, channels and what is made, as they go into a spreadsheet."""

from pricing.models import (
    LabourStep,
    ResinKit,
    SavedSurface,
    Technique,
)
from studio.sight import ADDRESSES, PRICES
from studio.tables import ListColumn, Listing

SLUG = Technique.Slug

LISTS = (
    Listing(
        "customers",
        "Customers",
        lambda studio: studio.customers.order_by("name", "pk"),
        (
            ListColumn("Name", "name"),
            ListColumn("E-mail", "email", sight=ADDRESSES),
            ListColumn("Phone", "phone", sight=ADDRESSES),
            ListColumn("Address", "address", sight=ADDRESSES),
            ListColumn("Notes", "notes", sight=ADDRESSES),
            ListColumn("Put away", "archived_at"),
        ),
    ),
    Listing(
        "channels",
        "Channels",
        lambda studio: studio.channels.order_by("name"),
        (
            ListColumn("Name", "name"),
            ListColumn("Share of the price", "percent_fee"),
            ListColumn("Per sale", "fixed_fee"),
            ListColumn("Per item", "listing_fee"),
            ListColumn("Share of shipping too", "fee_on_shipping"),
            ListColumn("On consignment", "is_consignment"),
            ListColumn("Put away", "archived_at"),
        ),
        sights=(PRICES,),
    ),
    Listing(
        "surfaces",
        "Surfaces",
        lambda studio: studio.surfaces.order_by("name"),
        (
            ListColumn("Name", "name"),
            ListColumn("Sold as", "nominal"),
            ListColumn("Shape", "shape", SavedSurface.Shape),
            ListColumn("Width (mm)", "width_mm"),
            ListColumn("Height (mm)", "height_mm"),
            ListColumn("Depth of the sides (mm)", "depth_mm"),
            ListColumn("Sides painted", "sides_painted"),
            ListColumn("Bevel (mm)", "inset_mm"),
            ListColumn("Sides", "sides"),
            ListColumn("Hole (mm)", "inner_mm"),
            ListColumn("Outline", "outline"),
            ListColumn("Material", "material__name"),
            ListColumn("Put away", "archived_at"),
        ),
    ),
    Listing(
        "techniques",
        "Techniques",
        lambda studio: studio.techniques.order_by("pk", "steps__pk"),
        (
            ListColumn("Technique", "slug", SLUG),
            ListColumn("Pours that come out well", "success_rate"),
            ListColumn("Topcoats that come out well", "coat_success_rate"),
            ListColumn("Learns from what is logged", "learns"),
            ListColumn("Offered", "is_offered"),
            ListColumn("Step", "steps__step", LabourStep.Step),
            ListColumn("Called", "steps__name"),
            ListColumn("Minutes once", "steps__fixed_minutes"),
            ListColumn("Minutes each", "steps__minutes_each"),
        ),
    ),
    Listing(
        "palettes",
        "Palettes",
        lambda studio: studio.palettes.order_by("name", "colours__position", "colours__pk"),
        (
            ListColumn("Palette", "name"),
            ListColumn("Base coat", "base__name"),
            ListColumn("Cell activator", "activator__name"),
            ListColumn("Colour", "colours__recipe__name"),
            ListColumn("Parts", "colours__parts"),
            ListColumn("Put away", "archived_at"),
        ),
    ),
    Listing(
        "products",
        "Products",
        lambda studio: studio.products.order_by("name"),
        (
            ListColumn("Name", "name"),
            ListColumn("Surface", "surface__name"),
            ListColumn("Technique", "technique__slug", SLUG),
            ListColumn("Base", "base"),
            ListColumn("Palette", "palette__name"),
            ListColumn("Topcoat", "topcoat__name"),
            ListColumn("Pieces in each", "pieces_each"),
            ListColumn("Packaging", "packaging__name"),
            ListColumn("Price", "price", sight=PRICES),
            ListColumn("Minutes", "minutes"),
            ListColumn("Put away", "archived_at"),
        ),
    ),
    Listing(
        "resin-kits",
        "Resin kits",
        lambda studio: studio.resin_kits.order_by("name"),
        (
            ListColumn("Name", "name"),
            ListColumn("Part A", "resin__name"),
            ListColumn("Part B", "hardener__name"),
            ListColumn("Parts of A", "ratio_a"),
            ListColumn("Parts of B", "ratio_b"),
            ListColumn("Ratio is", "basis", ResinKit.Basis),
            ListColumn("Film (mm)", "film_mm"),
            ListColumn("Thickest film in one pour (mm)", "maximum_film_mm"),
            ListColumn("Pot life (minutes)", "pot_life_minutes"),
            ListColumn("Full cure (hours)", "cure_hours"),
            ListColumn("Stated heat limit (°C)", "heat_limit_c"),
            ListColumn("Put away", "archived_at"),
        ),
    ),
)
