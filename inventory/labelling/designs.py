"""How one label is shared between its code and its words."""

from dataclasses import dataclass

from inventory.labelling.errors import LabelError
from inventory.labelling.stocks import LabelStock

# Common practice, no source: a third of a millimetre is what phones read at arm's length.
LEAST_MODULE_MM = 0.33
BEST_MODULE_MM = 0.6
INSET_MM = 1.5
# Common practice, no source: office printers leave the outermost 5 mm of a sheet white.
WHITE_EDGE_MM = 5.0
BETWEEN_MM = 1.0
LEAST_TEXT_MM = 14.0
LINE_HEIGHT = 1.2
WIDEST_CHARACTER = 0.74  # of the height of bold capitals and digits
LARGEST_CODE_MM = 8.0


@dataclass(frozen=True)
class Design:
    """One label: empty space around, the code with its quiet zone, the words beside it, [mm].

    ``text`` and ``body`` are the heights of the short code's letters and of all others; ``lines``
    is how many lines of words there is room for.
    """

    inset_x: float
    inset_y: float
    code: float
    module: float
    words_left: float
    words_width: float
    text: float
    body: float
    lines: int


def design(stock: LabelStock, modules: int, characters: int) -> Design:
    """Return how a label is laid out, its code as large as helps and the words beside it.

    Parameters
    ----------
    stock : LabelStock
        The blank labels, [mm]
    modules : int
        Width of the QR code with its quiet zone, [modules]
    characters : int
        Length of the longest short code, [characters]

    Raises
    ------
    LabelError
        If a module would be smaller than 0.33 mm, with the size that is enough.

    Examples
    --------
    >>> from inventory.labelling.stocks import STOCKS
    >>> one = design(STOCKS["a4-4x10-48.5x25.4"], 37, 5)
    >>> round(one.code, 1), round(one.module, 2), one.lines
    (22.2, 0.6, 5)
    """
    inset_x = inset_y = INSET_MM
    if not stock.is_single:
        inset_x = max(INSET_MM, WHITE_EDGE_MM - stock.left)
        inset_y = max(INSET_MM, WHITE_EDGE_MM - stock.top)
    inner_height = stock.height - 2 * inset_y
    room = stock.width - 2 * inset_x - BETWEEN_MM - LEAST_TEXT_MM
    code = min(inner_height, room, modules * BEST_MODULE_MM)
    if code < modules * LEAST_MODULE_MM:
        least = modules * LEAST_MODULE_MM
        raise LabelError(
            f"Labels of {stock.width:g} × {stock.height:g} mm are too small for a code that a "
            f"phone can read and words beside it. Choose labels of at least "
            f"{stock.width - room + least:.0f} × {2 * inset_y + least:.0f} mm."
        )
    words_left = inset_x + code + BETWEEN_MM
    words_width = stock.width - inset_x - words_left
    text = min(words_width / (characters * WIDEST_CHARACTER), inner_height * 0.3, LARGEST_CODE_MM)
    body = 2.2 if stock.height < 30 else 2.8
    lines = int((inner_height - text * LINE_HEIGHT) / (body * LINE_HEIGHT))
    return Design(
        inset_x, inset_y, code, code / modules, words_left, words_width, text, body, lines
    )
