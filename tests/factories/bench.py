"""A studio at work, with round prices, so that costs can be worked out by hand.

Per mL: white 0.02, blue 0.04, gold 0.05, resin and hardener 0.06 each. A tile is 0.50, a canvas
7.00, a box 1.20. White base is nine parts white and one of water; the blue mix half blue and half
white; the gold mix pure; the activator three white to one blue. The palette is two blue to one of
gold.
"""

from decimal import Decimal as D
from types import SimpleNamespace

from inventory.models import Movement
from inventory.stock import ledger as stock
from pricing.costing.defaults import prepare_studio
from pricing.models import Palette
from tests.factories.inventory import (
    MaterialFactory,
    PackFactory,
    RecipeFactory,
    RecipePartFactory,
)
from tests.factories.pricing import (
    CustomerFactory,
    PaletteColourFactory,
    ResinKitFactory,
    SavedSurfaceFactory,
)
from tests.factories.studio import StudioFactory

# name: (kind, unit, on hand, worth)
SHELF = {
    "white": ("paint", "ml", "2000", "40"),
    "blue": ("paint", "ml", "500", "20"),
    "gold": ("paint", "ml", "500", "25"),
    "resin": ("resin", "ml", "500", "30"),
    "hardener": ("hardener", "ml", "500", "30"),
    "tile": ("surface", "each", "20", "10"),
    "canvas": ("surface", "each", "2", "14"),
    "box": ("packaging", "each", "10", "12"),
}
RECIPES = {
    "base": ("base", {"white": "9", "water": "1"}),
    "blue_mix": ("colour", {"blue": "1", "white": "1"}),
    "gold_mix": ("colour", {"gold": "1"}),
    "activator": ("activator", {"white": "3", "blue": "1"}),
}


def working_studio(**settings):
    """Return a studio with its shelf stocked; materials, recipes and the like by name."""
    studio = StudioFactory(
        **{
            "labour_rate": D(18),
            "overhead_rate": D(6),
            "margin": D("0.25"),
            "tax_rate": D("0.10"),
            **settings,
        }
    )
    prepare_studio(studio)
    # No topcoat fails, where a test does not say so, so that amounts can be worked by hand.
    studio.techniques.update(coat_success_rate=1)
    bench = SimpleNamespace(studio=studio)
    bench.water = MaterialFactory(
        studio=studio, name="water", kind="water", is_stocked=False, density_g_per_ml=D(1)
    )
    for name, (kind, unit, on_hand, worth) in SHELF.items():
        density = D("1.1") if unit == "ml" else None
        material = MaterialFactory(
            studio=studio, name=name, kind=kind, unit=unit, density_g_per_ml=density
        )
        setattr(bench, name, material)
        receipt = stock.Receipt(material=material, quantity=D(on_hand), value=D(worth))
        stock.receive(studio=studio, by=None, receipts=[receipt], kind=Movement.Kind.OPENING)
        PackFactory(studio=studio, material=material, size=D(on_hand), price=D(worth) * 2)
    _recipes(bench)
    _surfaces(bench)
    bench.kit = ResinKitFactory(
        studio=studio, resin=bench.resin, hardener=bench.hardener, heat_limit_c=D(50)
    )
    bench.customer = CustomerFactory(studio=studio, name="Wren Alder")
    bench.bloom = studio.techniques.get(slug="bloom")
    bench.own_sale = studio.channels.get()
    return bench


def _recipes(bench):
    for name, (role, parts) in RECIPES.items():
        recipe = RecipeFactory(studio=bench.studio, name=name, role=role)
        for position, (material, amount) in enumerate(parts.items()):
            RecipePartFactory(
                recipe=recipe,
                material=getattr(bench, material),
                parts=D(amount),
                position=position,
            )
        setattr(bench, name, recipe)
    bench.palette = Palette.objects.create(
        studio=bench.studio, name="Tide", base=bench.base, activator=bench.activator
    )
    PaletteColourFactory(palette=bench.palette, recipe=bench.blue_mix, parts=D(2), position=0)
    PaletteColourFactory(palette=bench.palette, recipe=bench.gold_mix, parts=D(1), position=1)


def _surfaces(bench):
    bench.tile_size = SavedSurfaceFactory(
        studio=bench.studio,
        name="Tile 10 × 10 cm",
        width_mm=D(100),
        height_mm=D(100),
        depth_mm=D(6),
        material=bench.tile,
    )
    bench.canvas_size = SavedSurfaceFactory(
        studio=bench.studio,
        name="Canvas 8 × 8 × 1½ in",
        width_mm=D("203.2"),
        height_mm=D("203.2"),
        depth_mm=D("38.1"),
        material=bench.canvas,
    )
