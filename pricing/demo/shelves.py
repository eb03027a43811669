"""What the invented studio keeps, buys and mixes. Plain data: nobody and nothing here is real."""

from dataclasses import dataclass
from decimal import Decimal as D
from typing import Any

from pricing.fitness import HOT, LOOK

STUDIO: dict[str, Any] = {
    "name": "Lanternfish Lane Studio",
    "address": "3 Lanternfish Lane\nOld Ropeworks\nMarlpool Quay",
    "email": "studio@lanternfish.example",
    "phone": "555-0140",
    "currency": "USD",
    "locale": "en_US",
    "measures": "us",
    "lengths": "in",
    "time_zone": "America/New_York",
    "labour_rate": D("18"),
    "overhead_rate": D("4"),
    "margin": D("0.25"),
    "tax_rate": D("0.0625"),
    "tax_inclusive": False,
    "rounding_step": D("1"),
    "deposit": D("0.50"),
    "quote_terms": (
        "Half is due on acceptance, the balance before delivery. Every pour is one of a kind: "
        "colours and cells will be close to what was agreed, never identical."
    ),
}

OWNER = {"first_name": "Ada", "email": "ada@lanternfish.example"}
MAKER = {"first_name": "Bo", "email": "bo@lanternfish.example"}
VIEWER = {"first_name": "Cam", "email": "cam@lanternfish.example"}
PASSWORD = "pour-and-tilt-9"

# name: (lead days, varies by, minimum order, shipping, fees for larger orders, free over)
SUPPLIERS = {
    "Thistledown Paint Store": (D(4), D(1), D(0), D("6.95"), "", D(60)),
    "Cobble Yard Tiles": (D(7), D(2), D(15), D("9.50"), "40 at 5.00", D(80)),
    "Puddleby Resin Supply": (D(6), D(2), D(25), D("8.00"), "60 at 4.00; 120 at 2.00", None),
}


@dataclass(frozen=True)
class Supply:
    """One material, where it can be bought, and what is on the shelf to begin with."""

    name: str
    kind: str
    packs: tuple[tuple[str, ...], ...] = ()  # (supplier, size, label, price, cheaper by the number)
    opening: tuple[
        tuple[str, str, str, int], ...
    ] = ()  # (what is left, size of the full bottle, cost of a full one, days old)
    unit: str = "ml"
    density: str | None = None
    tare: str | None = None
    swatch: str = ""
    pigments: str = ""
    shelf_life_days: int | None = None
    opened_life_days: int | None = None
    is_stocked: bool = True
    has_silicone: bool = False
    heat_limit_c: str | None = None


PAINTS = "Thistledown Paint Store"
TILES = "Cobble Yard Tiles"
RESINS = "Puddleby Resin Supply"


def _paint(name: str, pigments: str, swatch: str, left: str) -> Supply:
    packs = (
        (PAINTS, "118", "118 mL bottle", "5.90", "4 at 5.50; 8 at 5.10"),
        (PAINTS, "473", "473 mL bottle", "17.80"),
    )
    opening = ((left, "118", "5.60", 120),)
    return Supply(
        name,
        "paint",
        packs,
        opening,
        density="1.2000",
        tare="21.5",
        swatch=swatch,
        pigments=pigments,
        shelf_life_days=3650,
    )


SUPPLIES = (
    Supply(
        "Matt white wall paint",
        "paint",
        ((PAINTS, "946", "946 mL tin", "16.40"), (PAINTS, "3430", "3.43 L tub", "41.90")),
        (("946", "946", "15.90", 90), ("310", "946", "15.90", 75)),
        density="1.3800",
        tare="148",
        swatch="#f4f2ec",
        pigments="PW6",
        opened_life_days=730,
    ),
    Supply(
        "Clear wall-paint base",
        "medium",
        ((PAINTS, "946", "946 mL tin", "15.20"),),
        (("720", "946", "14.80", 60),),
        density="1.1000",
        tare="148",
        opened_life_days=730,
    ),
    Supply(
        "Satin clear varnish",
        "medium",
        ((PAINTS, "237", "237 mL tin", "9.80"), (PAINTS, "946", "946 mL tin", "27.50")),
        (("190", "237", "9.40", 90),),
        density="1.0400",
        tare="62",
    ),
    Supply(
        "Flow conditioner",
        "conditioner",
        ((PAINTS, "946", "946 mL bottle", "13.60"),),
        (("400", "946", "13.20", 90),),
        density="1.0300",
        tare="58",
    ),
    _paint("Phthalo blue", "PB15:3", "#0f3d7a", "96"),
    _paint("Phthalo green", "PG7", "#0d6b5c", "88"),
    _paint("Quinacridone magenta", "PR122", "#a3185c", "70"),
    _paint("Yellow ochre", "PY42", "#c28a2c", "105"),
    _paint("Carbon black", "PBk7", "#1c1b1a", "64"),
    Supply("Tap water", "water", unit="ml", density="1.0000", is_stocked=False),
    Supply(
        "Coating resin, part A",
        "resin",
        (
            (RESINS, "473", "473 mL bottle", "21.00", "3 at 19.50"),
            (RESINS, "946", "946 mL bottle", "37.00"),
        ),
        (("170", "473", "20.50", 40),),
        density="1.1000",
        tare="44",
        shelf_life_days=540,
        heat_limit_c="90",
    ),
    Supply(
        "Coating hardener, part B",
        "hardener",
        (
            (RESINS, "473", "473 mL bottle", "21.00", "3 at 19.50"),
            (RESINS, "946", "946 mL bottle", "37.00"),
        ),
        (("165", "473", "20.50", 40),),
        density="0.9700",
        tare="44",
        shelf_life_days=360,
    ),
    Supply(
        "Ceramic tile, 10 × 10 cm",
        "surface",
        ((TILES, "25", "Box of 25", "11.50"), (TILES, "100", "Box of 100", "38.00")),
        (("5", "25", "10.80", 120), ("25", "25", "11.00", 75)),
        unit="each",
    ),
    Supply(
        "Canvas, 8 × 8 × 1½ in",
        "surface",
        ((TILES, "1", "Single", "7.40"), (TILES, "5", "Pack of 5", "29.00")),
        (("1", "1", "7.10", 75),),
        unit="each",
    ),
    Supply(
        "Coaster box, kraft",
        "packaging",
        ((TILES, "10", "Pack of 10", "13.50"),),
        (("6", "10", "13.00", 75),),
        unit="each",
    ),
    Supply(
        "Canvas sleeve and board",
        "packaging",
        ((TILES, "10", "Pack of 10", "16.00"),),
        (("5", "10", "15.50", 75),),
        unit="each",
    ),
    Supply(
        "Cork foot, 12 mm",
        "other",
        ((TILES, "100", "Sheet of 100", "6.50"),),
        (("80", "100", "6.20", 75),),
        unit="each",
    ),
)

# name: (role, trace in seconds, parts by volume)
RECIPES = {
    "White base coat": ("base", "5", (("Matt white wall paint", "9"), ("Tap water", "1"))),
    "Colour medium": (
        "other",
        None,
        (("Clear wall-paint base", "3"), ("Satin clear varnish", "1")),
    ),
    "Blue mix": ("colour", "3", (("Colour medium", "2"), ("Phthalo blue", "1"))),
    "Green mix": ("colour", "3", (("Colour medium", "2"), ("Phthalo green", "1"))),
    "Magenta mix": ("colour", "3", (("Colour medium", "2"), ("Quinacridone magenta", "1"))),
    "Ochre mix": ("colour", "3", (("Colour medium", "2"), ("Yellow ochre", "1"))),
    "Black cell activator": ("activator", None, (("Flow conditioner", "3"), ("Carbon black", "1"))),
}

# What is done with the pieces of a bloom after the pour: (minutes once, for each set, material,
# amount, what that is for, with which pieces). Coasters get feet, canvases varnish.
STEPS = {
    "varnish": ("2", "3", "Satin clear varnish", "150", "m2", ""),
    "feet": ("0", "2", "Cork foot, 12 mm", "4", "piece", "coated"),
}
# How long the studio keeps a mix.
MIXES_KEEP_DAYS = 60
# name: ((colour recipe, parts) ...)
PALETTES = {
    "Harbour dusk": (("Blue mix", "2"), ("Green mix", "1"), ("Magenta mix", "1")),
    "Fern and ochre": (("Green mix", "2"), ("Ochre mix", "1")),
}


@dataclass(frozen=True)
class Ware:
    """One product of the studio, all of them in the bloom technique."""

    name: str
    surface: str
    palette: str
    price: str
    pieces_each: int = 1
    packaging: str = ""
    has_resin: bool = False
    use: str = LOOK


PRODUCTS = (
    Ware(
        "Four dusk coasters",
        "Ceramic tile, 10 × 10 cm",
        "Harbour dusk",
        "72",
        pieces_each=4,
        packaging="Coaster box, kraft",
        has_resin=True,
        use=HOT,
    ),
    Ware(
        "Fern wall tile",
        "Ceramic tile, 10 × 10 cm",
        "Fern and ochre",
        "16",
    ),
    Ware(
        "Small dusk canvas",
        "Canvas, 8 × 8 × 1½ in",
        "Harbour dusk",
        "88",
        packaging="Canvas sleeve and board",
    ),
)

# name: (share of the price, per sale, per item, share taken from shipping too)
CHANNELS = {
    "Studio door": ("0", "0", "0", False),
    "Card reader": ("0.026", "0.10", "0", True),
    "Online market": ("0.065", "0.25", "0.20", True),
    "Weekend fair": ("0.10", "0", "0", False),
    "Quayside gallery shop": ("0.40", "0", "0", False),
}
ON_CONSIGNMENT, BY_CARD = "Quayside gallery shop", "Card reader"

CUSTOMER = {
    "name": "Wren Alder",
    "email": "wren@alder.example",
    "notes": "Wants the coasters to match a blue kitchen.",
}

# What the owner read off the label of the coating resin.
LABEL = {
    "ratio_a": "1",
    "ratio_b": "1",
    "maximum_film_mm": "3.2",
    "pot_life_minutes": "40",
    "pot_life_c": "24",
    "pot_life_mass_g": "100",
    "recoat_from_hours": "4",
    "recoat_to_hours": "12",
    "handle_hours": "24",
    "cure_hours": "168",
    "room_from_c": "21",
    "room_to_c": "27",
    "heat_limit_c": "90",
}
