"""The blank labels there are: sheets of so many by so many, and single ones off a roll."""

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.stock.labelling.errors import LabelError

A4 = ("A4", 210.0, 297.0)  # ISO 216
LETTER = ("Letter", 215.9, 279.4)  # ANSI/ASME Y14.1: 8.5 x 11 in
# A sheet's own measures are often rounded to a tenth: so much too wide is not too wide.
TOLERANCE_MM = 0.25
LONGEST_MM = 1200.0
MOST_A_PAGE = 400


@dataclass(frozen=True)
class LabelStock:
    """Blank labels: how many on a page, their size, and where the first one begins, [mm].

    ``left`` and ``top`` are the margins before the first label, ``gap_x`` and ``gap_y`` what is
    between two. A label off a roll is a page of its own.
    """

    page: str
    page_width: float
    page_height: float
    columns: int
    rows: int
    width: float
    height: float
    left: float = 0.0
    top: float = 0.0
    gap_x: float = 0.0
    gap_y: float = 0.0

    @property
    def per_page(self) -> int:
        """How many labels a page has."""
        return self.columns * self.rows

    @property
    def is_single(self) -> bool:
        """Whether each label is a page of its own."""
        return self.per_page == 1

    @property
    def key(self) -> str:
        """What names it in an address: ``a4-3x8-70x37``."""
        size = f"{self.width:g}x{self.height:g}"
        if self.is_single:
            return f"single-{size}"
        return f"{self.page.lower()}-{self.columns}x{self.rows}-{size}"

    @property
    def name(self) -> str:
        """What a person calls it: ``A4, 3 × 8, 70 × 37 mm``."""
        size = f"{round(self.width, 1):g} × {round(self.height, 1):g} mm"
        if self.is_single:
            return f"Label printer, {size}, one a page"
        return f"{self.page}, {self.columns} × {self.rows}, {size}"


def _sheet(
    page: tuple[str, float, float],
    columns: int,
    rows: int,
    width: float,
    height: float,
    gap_x: float = 0.0,
) -> LabelStock:
    """Return a sheet whose labels stand in the middle of the page."""
    _, page_width, page_height = page
    left = (page_width - columns * width - (columns - 1) * gap_x) / 2
    top = (page_height - rows * height) / 2
    return LabelStock(*page, columns, rows, width, height, left, top, gap_x)


def _single(width: float, height: float) -> LabelStock:
    return LabelStock("Roll", width, height, 1, 1, width, height)


# Common practice, no source: the sizes that label sheets and label printers are sold in.
STOCKS: Mapping[str, LabelStock] = {
    stock.key: stock
    for stock in (
        _sheet(A4, 3, 8, 70.0, 37.0),
        _sheet(A4, 3, 7, 63.5, 38.1, 2.54),
        _sheet(A4, 4, 10, 48.5, 25.4),
        _sheet(A4, 5, 13, 38.1, 21.2, 2.54),
        _sheet(LETTER, 3, 10, 66.675, 25.4, 3.175),  # 2⅝ × 1 in, ⅛ in apart
        _sheet(LETTER, 2, 5, 101.6, 50.8, 4.7625),  # 4 × 2 in, 3/16 in apart
        _single(62.0, 29.0),
        _single(57.0, 32.0),
        _single(89.0, 36.0),
    )
}


def usual_stock(paper: str) -> LabelStock:
    """Return the sheet that is offered first.

    Parameters
    ----------
    paper : str
        ``"letter"`` or ``"A4"``, [-]
    """
    page = LETTER[0] if paper == "letter" else A4[0]
    return next(stock for stock in STOCKS.values() if stock.page == page)


def own_stock(
    *,
    page_width: float,
    page_height: float,
    columns: int,
    rows: int,
    width: float,
    height: float,
    left: float = 0.0,
    top: float = 0.0,
    gap_x: float = 0.0,
    gap_y: float = 0.0,
) -> LabelStock:
    """Return blank labels of a studio's own measures.

    Parameters
    ----------
    page_width, page_height : float
        Size of the page, [mm]
    columns, rows : int
        Labels across and down, [-]
    width, height : float
        Size of one label, [mm]
    left, top : float
        From the edge of the page to the first label, [mm]
    gap_x, gap_y : float
        Between two labels, [mm]

    Raises
    ------
    LabelError
        If they are no measures, or the labels do not fit on the page.

    Examples
    --------
    >>> own_stock(page_width=100, page_height=150, columns=2, rows=3, width=45, height=45).per_page
    6
    """
    sizes = (page_width, page_height, width, height)
    spaces = (left, top, gap_x, gap_y)
    if not all(0 < size <= LONGEST_MM for size in sizes) or columns < 1 or rows < 1:
        raise LabelError(
            f"Give the page and the label a width and a height of up to {LONGEST_MM:g} mm, and at "
            "least one column and one row."
        )
    if not all(0 <= space <= LONGEST_MM for space in spaces):
        raise LabelError("Margins and gaps are 0 mm or more.")
    if columns * rows > MOST_A_PAGE:
        raise LabelError(f"A page has at most {MOST_A_PAGE} labels.")
    for side, page, needed in (
        ("across", page_width, left + columns * width + (columns - 1) * gap_x),
        ("down", page_height, top + rows * height + (rows - 1) * gap_y),
    ):
        if needed > page + TOLERANCE_MM:
            raise LabelError(
                f"The labels need {needed:g} mm {side}, and the page has {page:g} mm. Measure "
                "again, or have fewer."
            )
    return LabelStock(
        "Own", page_width, page_height, columns, rows, width, height, left, top, gap_x, gap_y
    )
