"""Labels for bottles on paper: which bottles, what each label says, and where it stands."""

from collections.abc import Callable, Iterable
from datetime import date
from itertools import groupby

from django.db.models import QuerySet
from django.urls import reverse

from inventory.errors import LabelsRefused
from inventory.models import Bottle, Material
from inventory.stock.labelling import (
    QUIET_MODULES,
    Design,
    LabelError,
    LabelStock,
    design,
    qr_code,
    spots,
)
from studio.models import Studio
from studio.pdf import render_pdf

TEMPLATE = "inventory/stock/pdf/labels.html"
MOST_LABELS = 500


def bottles_to_label(
    studio: Studio,
    *,
    codes: Iterable[str] | None = None,
    delivery: int | None = None,
    material: int | None = None,
) -> QuerySet[Bottle]:
    """Return the bottles that labels are asked for, by material and code.

    ``codes`` are short codes; ``delivery`` and ``material`` are keys. With none of them, it is all
    that is on the shelf. Lots of whole items get a label only where their code is given.
    """
    rows = studio.bottles.select_related("material").order_by("material__name", "code")
    if codes is not None:
        return rows.filter(code__in=codes)
    rows = rows.exclude(material__unit=Material.Unit.EACH)
    if delivery is not None:
        return rows.filter(delivery=delivery)
    rows = rows.on_shelf()
    return rows if material is None else rows.filter(material=material)


def address_of(bottle: Bottle) -> str:
    """Return the short address that a bottle's label opens."""
    return reverse("bottle-scan", args=[bottle.studio_id, bottle.code])


def labels_sheet(
    studio: Studio,
    bottles: list[Bottle],
    stock: LabelStock,
    *,
    address: Callable[[Bottle], str],
    start: int = 1,
    copies: int = 1,
) -> bytes:
    """Return the labels of some bottles as the bytes of a PDF.

    Parameters
    ----------
    bottles : list of Bottle
        With their materials.
    stock : LabelStock
        The blank labels.
    address : callable
        Takes a bottle and returns the whole address that its code opens.
    start : int
        The first free label of the first page, counted from 1.
    copies : int
        How many of each.

    Raises `LabelsRefused` when there are none or too many, or they do not go on this stock.
    """
    count = len(bottles) * copies
    if not bottles:
        raise LabelsRefused("No bottle is chosen. Choose at least one to print labels for.")
    if count > MOST_LABELS:
        raise LabelsRefused(
            f"That makes more than {MOST_LABELS} labels, the most that can be printed at once. "
            "Choose fewer bottles or fewer copies."
        )
    try:
        codes = {bottle.pk: qr_code(address(bottle)) for bottle in bottles}
        modules = max(int(code.symbol_size(border=QUIET_MODULES)[0]) for code in codes.values())
        layout = design(stock, modules, max(len(bottle.code) for bottle in bottles))
        places = list(spots(stock, count, start))
    except LabelError as error:
        raise LabelsRefused(str(error)) from error
    labels = [
        {
            "bottle": bottle,
            "code": codes[bottle.pk].svg_data_uri(border=QUIET_MODULES, omitsize=True),
            "words": _words(bottle, layout),
        }
        for bottle in bottles
        for _ in range(copies)
    ]
    placed = [
        {**label, "page": spot.page, "x": spot.x, "y": spot.y}
        for label, spot in zip(labels, places, strict=True)
    ]
    pages = [list(page) for _, page in groupby(placed, key=lambda label: label["page"])]
    context = {"studio": studio, "stock": stock, "design": layout, "pages": pages}
    return render_pdf(TEMPLATE, context)


def check_sheet(studio: Studio, stock: LabelStock) -> bytes:
    """Return a page of hair lines around every label, to hold against the sheet; a PDF's bytes."""
    outlines = [{"x": spot.x, "y": spot.y} for spot in spots(stock, stock.per_page)]
    context = {"studio": studio, "stock": stock, "pages": [outlines], "is_check": True}
    return render_pdf(TEMPLATE, context)


def _words(bottle: Bottle, layout: Design) -> list[tuple[str, str, int]]:
    """Return the lines of words for which there is room, as (what it is, text, lines it may take).

    What tells one bottle from another comes first, what is nice to know last.
    """
    material, lines = bottle.material, layout.lines
    by_weight = [
        ("name", material.name, 1),
        ("ends", _ends(bottle.keeps_until, layout.characters), 1),
        ("silicone", "Contains silicone" if bottle.holds_silicone else "", 1),
        ("opened", _opened(bottle, layout.characters), 1),
        ("swatch", material.pigments or material.swatch, 1),
        ("place", bottle.place, 1),
    ]
    words = [word for word in by_weight if word[1]][:lines]
    if len(words) < lines:
        words = [(what, text, 2 if what == "name" else rows) for what, text, rows in words]
    order = ("name", "swatch", "silicone", "opened", "ends", "place")
    return sorted(words, key=lambda word: order.index(word[0]))


def _ends(day: date | None, characters: int) -> str:
    if day is None:
        return ""
    date = f"{day.day} {day:%b}"
    return _fitting(
        characters,
        f"Keeps until {date} {day:%Y}",
        f"Until {date} {day:%Y}",
        f"Until {date} {day:%y}",
    )


def _opened(bottle: Bottle, characters: int) -> str:
    if bottle.material.unit == bottle.material.Unit.EACH:
        return ""
    day = bottle.opened_on
    if day is None:  # a line to write it on, by hand
        return _fitting(characters, "Opened ___________", "Open _______")
    date = f"{day.day} {day:%b}"
    return _fitting(characters, f"Opened {date} {day:%Y}", f"Open {date} {day:%y}")


def _fitting(characters: int, *texts: str) -> str:
    """Return the first text that fits on a line, else the last."""
    return next((text for text in texts if len(text) <= characters), texts[-1])
