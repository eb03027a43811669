"""Files that people bring in: a beginning that every studio makes, and what comes later."""

import csv
from io import BytesIO, StringIO

from openpyxl import Workbook

# name, kind, unit, density, tare, pack size, price, what is on the shelf (left, worth, how many)
MATERIALS = (
    ("White wall paint", "Paint", "mL", "1.38", "148", "946", "16.40", (("3430", "41.90", 2),)),
    ("Pouring medium", "Medium", "mL", "1.1", "60", "946", "15.20", (("946", "15.20", 2),)),
    ("Flow conditioner", "Conditioner", "mL", "1.03", "58", "946", "13.60", (("946", "13.60", 1),)),
    ("Phthalo blue", "Paint", "mL", "1.2", "21.5", "118", "5.90", (("473", "17.80", 2),)),
    ("Quinacridone rose", "Paint", "mL", "1.2", "21.5", "118", "6.35", (("473", "18.10", 2),)),
    ("Carbon black", "Paint", "mL", "1.2", "21.5", "118", "5.45", (("118", "5.04", 1),)),
    ("Mica powder", "Paint", "g", "", "12", "50", "7.77", (("50", "7.31", 1),)),
    ("Tap water", "Water", "mL", "1", "", "", "", ()),
    ("Coating resin, part A", "Resin", "mL", "1.1", "44", "473", "21", (("473", "20.50", 2),)),
    ("Hardener, part B", "Hardener", "mL", "0.97", "44", "473", "21", (("473", "20.50", 2),)),
    ("Ceramic tile", "Surface", "each", "", "", "25", "11.50", (("25", "11.00", 2),)),
    ("Canvas 8 in", "Surface", "each", "", "", "5", "29.00", (("2", "11.60", 1),)),
    ("Coaster box", "Packaging", "each", "", "", "10", "13.50", (("6", "7.80", 1),)),
)
SUPPLIERS = (
    ("Thistle Paints", "4", "1", "6.95", "60", "0"),
    ("Cobble Tiles", "7", "2", "9.50", "80", "15"),
)


def beginning(story, kind, mark):
    """Return the rows of a file of one kind, headings first."""
    dice, today = story.dice, story.clock.now.date().isoformat()
    if kind == "suppliers":
        head = ["Name", "Lead time (days)", "Lead time varies by (days)", "Shipping fee"]
        head += ["Free shipping over", "Minimum order"]
        return [head, *([f"{mark} {name}", *rest] for name, *rest in SUPPLIERS)]
    if kind == "materials":
        head = ["Name", "Kind", "Counted in", "Density (g/mL)", "Empty bottle (g)", "Is stocked"]
        return [head] + [
            [f"{mark} {name}", of, unit, density, tare, "no" if of == "Water" else "yes"]
            for name, of, unit, density, tare, *_ in MATERIALS
        ]
    if kind == "packs":
        rows = [["Supplier", "Material", "Label", "Size", "Price", "Price breaks"]]
        for name, *_, size, price, _ in MATERIALS:
            if size:
                supplier = SUPPLIERS[size in ("25", "5")][0]
                asked = story.money(float(price) * 0.9, float(price) * 1.1)
                rows.append([f"{mark} {supplier}", f"{mark} {name}", "Pack", size, asked, ""])
        return rows
    rows, code = [["Bottle", "Material", "Quantity", "Worth", "Place", "Received on"]], 0
    for name, *_, shelf in MATERIALS:
        for left, worth, many in shelf:
            for _ in range(many * dice.choice((1, 2))):
                code += 1
                rows.append([f"{mark[0]}{code:03}", f"{mark} {name}", left, worth])
                rows[-1] += [dice.choice(("Shelf 1", "Bench", "")), today]
    return rows


def as_csv(rows, delimiter=","):
    """Write rows as a CSV file; returns bytes."""
    text = StringIO()
    csv.writer(text, delimiter=delimiter).writerows(rows)
    return text.getvalue().encode()


def as_xlsx(rows):
    """Write rows as a workbook; returns bytes."""
    book, file = Workbook(), BytesIO()
    for row in rows:
        book.active.append(row)
    book.save(file)
    book.close()
    return file.getvalue()


def read_csv(body):
    """Read a CSV file into dicts, in plain Python."""
    return list(csv.DictReader(StringIO(body.decode("utf-8-sig"))))
