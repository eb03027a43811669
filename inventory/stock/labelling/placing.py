"""Where each label stands."""

from collections.abc import Iterator
from typing import NamedTuple

from inventory.stock.labelling.errors import LabelError
from inventory.stock.labelling.stocks import LabelStock


class Spot(NamedTuple):
    """One label's place: the page, counted from 0, and its corner from the top left, [mm]."""

    page: int
    x: float
    y: float


def spots(stock: LabelStock, count: int, start: int = 1) -> Iterator[Spot]:
    """Yield where each label stands, row by row.

    Parameters
    ----------
    stock : LabelStock
        The blank labels, [mm]
    count : int
        How many to print, [-]
    start : int
        The first free label of a sheet that is used in part, counted from 1 along the rows, [-]

    Raises
    ------
    LabelError
        If a page has no such label.

    Examples
    --------
    >>> from inventory.stock.labelling.stocks import own_stock
    >>> two = own_stock(page_width=100, page_height=50, columns=2, rows=1, width=40, height=50)
    >>> list(spots(two, 2, start=2))
    [Spot(page=0, x=40.0, y=0.0), Spot(page=1, x=0.0, y=0.0)]
    """
    if not 1 <= start <= stock.per_page:
        raise LabelError(f"A page has labels 1 to {stock.per_page}: start with one of these.")
    for number in range(start - 1, start - 1 + count):
        page, on_page = divmod(number, stock.per_page)
        row, column = divmod(on_page, stock.columns)
        yield Spot(
            page,
            stock.left + column * (stock.width + stock.gap_x),
            stock.top + row * (stock.height + stock.gap_y),
        )
