"""Care cards and tags on paper: several on a sheet, with marks to cut along."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from inventory.stock.labelling import QUIET_MODULES, qr_code
from pricing.errors import CardRefused
from pricing.selling.care import Care
from studio.models import Studio
from studio.pdf import paper, render_pdf

MOST_PRINTED = 200
MARK_MM = 4.0
PAGES_MM = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}


@dataclass(frozen=True)
class Shape:
    """A card or tag, [mm], how many go beside and under one another, and the side of its code.

    The code of an address of 45 characters has 37 modules with its quiet zone, so that each is
    wider than the third of a millimetre that a phone reads.
    """

    name: str
    width: float
    height: float
    across: int
    down: int
    code: float

    @property
    def per_page(self) -> int:
        """How many go on a sheet."""
        return self.across * self.down


# Both fill the same field, which an A4 and a letter sheet have room for with their marks.
SHAPES = {
    "cards": Shape("Care cards", 92.0, 64.0, 2, 4, 20.0),
    "tags": Shape("Tags", 46.0, 32.0, 4, 8, 16.0),
}


def care_sheet(
    studio: Studio,
    cares: Sequence[Care],
    what: str,
    *,
    address: Callable[[str], str],
    copies: int = 1,
) -> bytes:
    """Return cards or tags as the bytes of a PDF; the same ones are the same each time.

    Parameters
    ----------
    cares : sequence of Care
    what : str
        "cards" or "tags".
    address : callable
        Takes the path that a code opens and returns its whole address.
    copies : int
        How many of each.

    Raises
    ------
    CardRefused
        If there are none, or too many.
    """
    shape, count = SHAPES[what], len(cares) * copies
    if not cares:
        raise CardRefused("There is no good piece to print a card for.")
    if count > MOST_PRINTED:
        raise CardRefused(
            f"That makes {count}, and at most {MOST_PRINTED} are printed at once. Choose fewer."
        )
    size = paper(studio.locale)
    width, height = PAGES_MM[size]
    left = (width - shape.across * shape.width) / 2
    top = (height - shape.down * shape.height) / 2
    codes = {one.path: qr_code(address(one.path)) for one in cares}
    printed = [
        {
            "care": one,
            "code": codes[one.path].svg_data_uri(border=QUIET_MODULES, omitsize=True),
        }
        for one in cares
        for _ in range(copies)
    ]
    placed = [
        {
            **one,
            "x": left + place % shape.across * shape.width,
            "y": top + place % shape.per_page // shape.across * shape.height,
        }
        for place, one in enumerate(printed)
    ]
    context = {
        "studio": studio,
        "shape": shape,
        "what": what,
        "page_width": width,
        "page_height": height,
        "pages": [placed[at : at + shape.per_page] for at in range(0, count, shape.per_page)],
        "marks": _marks(shape, left, top),
    }
    return render_pdf("pricing/selling/pdf/care_cards.html", context)


def _marks(shape: Shape, left: float, top: float) -> list[tuple[float, float, float, float]]:
    """Return the marks outside the field as (x, y, width, height), [mm]: where to cut."""
    hair = 0.2
    right, bottom = left + shape.across * shape.width, top + shape.down * shape.height
    ups = [left + place * shape.width for place in range(shape.across + 1)]
    sides = [top + place * shape.height for place in range(shape.down + 1)]
    gap = 1.0
    return [
        *((x, y, hair, MARK_MM) for x in ups for y in (top - gap - MARK_MM, bottom + gap)),
        *((x, y, MARK_MM, hair) for y in sides for x in (left - gap - MARK_MM, right + gap)),
    ]
