"""How one label is shared between its code and its words."""

from dataclasses import dataclass

from inventory.stock.labelling.errors import LabelError
from inventory.stock.labelling.stocks import LabelStock

# Common practice, no source: a third of a millimetre is what phones read at arm's length.
LEAST_MODULE_MM = 0.33
GOOD_MODULE_MM = 0.4
BEST_MODULE_MM = 0.9
INSET_MM = 1.5
# Common practice, no source: office printers leave the outermost 5 mm of a sheet white.
WHITE_EDGE_MM = 5.0
BETWEEN_MM = 1.0
LEAST_TEXT_MM = 14.0
CODE_SHARE = 0.4  # of the width, once the code is easy to read
LINE_HEIGHT = 1.2
WIDEST_CHARACTER = 0.74  # of the height of bold capitals and digits
USUAL_CHARACTER = 0.62
LARGEST_TEXT_MM = 12.0
LEAST_BODY_MM, LARGEST_BODY_MM = 2.0, 3.6


@dataclass(frozen=True)
class Design:
    """One label: empty space around, the code with its quiet zone, the words beside it, [mm].

    ``text`` and ``body`` are the heights of the short code's letters and of all others; there is
    room for so many ``lines`` of so many ``characters`` each.
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
    characters: int


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
    >>> from inventory.stock.labelling.stocks import STOCKS
    >>> one = design(STOCKS["a4-4x10-48.5x25.4"], 37, 5)
    >>> round(one.code, 1), round(one.module, 2), one.lines, one.characters
    (19.4, 0.52, 5, 20)
    """
    inset_x = inset_y = INSET_MM
    if not stock.is_single:
        inset_x = max(INSET_MM, WHITE_EDGE_MM - stock.left)
        inset_y = max(INSET_MM, WHITE_EDGE_MM - stock.top)
    inner_height = stock.height - 2 * inset_y
    room = stock.width - 2 * inset_x - BETWEEN_MM - LEAST_TEXT_MM
    share = max(stock.width * CODE_SHARE, modules * GOOD_MODULE_MM)
    code = min(inner_height, room, share, modules * BEST_MODULE_MM)
    if code < modules * LEAST_MODULE_MM:
        least = modules * LEAST_MODULE_MM
        raise LabelError(
            f"Labels of {stock.width:g} × {stock.height:g} mm are too small for a code that a "
            f"phone can read and words beside it. Choose labels of at least "
            f"{stock.width - room + least:.0f} × {2 * inset_y + least:.0f} mm."
        )
    words_left = inset_x + code + BETWEEN_MM
    words_width = stock.width - inset_x - words_left
    text = min(words_width / (characters * WIDEST_CHARACTER), inner_height * 0.3, LARGEST_TEXT_MM)
    body = min(max(inner_height * 0.09, LEAST_BODY_MM), LARGEST_BODY_MM)
    lines = int((inner_height - text * LINE_HEIGHT) / (body * LINE_HEIGHT))
    return Design(
        inset_x,
        inset_y,
        code,
        code / modules,
        words_left,
        words_width,
        text,
        body,
        lines,
        int(words_width / (body * USUAL_CHARACTER)),
    )
