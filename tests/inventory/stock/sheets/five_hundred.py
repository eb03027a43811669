"""An American sheet of five hundred rows, as messy as a person makes one, and what is true of it.

The truth of a row is drawn first and then written down in one of the ways people write it, so
that what a reader should find is known without any reader.
"""

import csv
import io
import random
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

ROWS = 500
COLOURS = "white black ivory umber ochre blue violet green yellow orange red pink grey teal copper"
SHADES = "titanium zinc warm cool deep pale bright soft dusty royal sea moss rose smoke night"
SHOPS = ("Harbor Street Supply", "Two Gulls Art", "North Pier Art", "Old Depot Paints", "")
# mL of each: the US gallon is 231 cubic inches of 16.387064 mL, a quart a quarter of it, a fluid
# ounce 1/128 of it (NIST Handbook 44, appendix C).
SIZES = {
    "16 oz": "473.176473",
    "8 fl oz": "236.5882365",
    "8fl. oz.": "236.5882365",
    "32 OZ": "946.352946",
    "1/2 gal": "1892.705892",
    "1 gal": "3785.411784",
    "1 qt": "946.352946",
    "500ml": "500",
    "250 mL": "250",
    "1 L": "1000",
    "1.5 liters": "1500",
    "2 x 8 fl oz": "473.176473",
    "1,000 ml": "1000",
}
COUNTS = {
    "1": "1",
    "2": "2",
    "3 bottles": "3",
    "half": "0.5",
    "1.5": "1.5",
    "0": "0",
    "1 jar": "1",
    "empty": "0",
    "1/4": "0.25",
    "2 full": "2",
    "": "0",
}


@dataclass(frozen=True)
class Truth:
    """What stands in one row: `on_hand` in mL, or None for none; `outcome` good, ask or wrong."""

    row: int
    outcome: str
    name: str
    supplier: str
    size_ml: Decimal
    price: Decimal
    on_hand_ml: Decimal
    bought: date | None
    expires: date | None


def sheet(seed: int = 1) -> tuple[bytes, list[Truth]]:
    """Give the sheet's bytes and the truth of each row that stands for a thing."""
    draw = random.Random(seed)
    lines = [
        ["The Big Barn: everything we own"],
        ["counted over the long weekend"],
        [],
        ["Item", "Vendor", "Size", "On hand", "Price each", "Purchased", "Expires", "Loc", "Memo"],
    ]
    truths: list[Truth] = []
    names = [f"{shade} {colour}" for shade in SHADES.split() for colour in COLOURS.split()]
    lots = [f"{name} {lot}" for lot in ("matte", "gloss", "pearl") for name in names]
    draw.shuffle(lots)
    while len(lines) < ROWS:
        draws = draw.random()
        if draws < 0.02:
            lines.append([])
        elif draws < 0.04:
            lines.append([draw.choice(["ACRYLICS", "Craft paint", "HOUSE PAINT", "Fluid colors"])])
        elif draws < 0.05:
            lines.append(["Subtotal", "", "", str(draw.randint(5, 40)), "$123.45"])
        else:
            line, truth = _thing(draw, len(lines) + 1, lots.pop())
            lines.append(line)
            truths.append(truth)
    text = io.StringIO()
    width = len(lines[3])
    csv.writer(text).writerows([line + [""] * (width - len(line)) for line in lines])
    return text.getvalue().encode("cp1252"), truths


def _thing(draw: random.Random, row: int, name: str) -> tuple[list[str], Truth]:
    size, size_ml = draw.choice(list(SIZES.items()))
    price = Decimal(draw.randint(250, 9999)) / 100
    shop = draw.choice(SHOPS)
    words, count = draw.choice(list(COUNTS.items()))
    bought = date(2026, 1, 1) + timedelta(draw.randint(0, 80)) if draw.random() < 0.5 else None
    expires = date(2027, 1, 1) + timedelta(draw.randint(0, 800)) if draw.random() < 0.4 else None
    asked = draw.choice([f"${price}", f"{price}", f"$ {price}", f"{price} USD"])
    outcome = "good"
    fault = draw.random()
    if fault < 0.03:
        outcome, words = "ask", draw.choice(["?", "some", "lots"])
    elif fault < 0.05:
        outcome, words = "wrong", "-1"
    written = name.upper() if draw.random() < 0.1 else name.capitalize()
    line = [
        f" {written}" if draw.random() < 0.1 else written,
        shop,
        size,
        words,
        asked,
        _american(draw, bought),
        _american(draw, expires),
        draw.choice(["Bin 1", "Bin 2", "floor", ""]),
        draw.choice(["", "", "", "get more", "for the fair, not for sale"]),
    ]
    on_hand = Decimal(size_ml) * Decimal(count)
    return line, Truth(row, outcome, name, shop, Decimal(size_ml), price, on_hand, bought, expires)


def _american(draw: random.Random, day: date | None) -> str:
    if day is None:
        return draw.choice(["", "", "n/a", "-"])
    return draw.choice(
        [
            f"{day.month}/{day.day}/{day.year}",
            f"{day.month}/{day.day}/{day:%y}",
            f"{day:%m/%d/%Y}",
            day.isoformat(),
            f"{day:%b} {day.day}, {day.year}",
        ]
    )
