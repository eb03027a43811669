"""Charts of one amount along another or along time: lines, bands and dots."""

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import pairwise

from studio.charts import drawing as svg
from studio.charts.drawing import DASHED, Chart, Spot, Table
from studio.charts.scales import Number, Scale, amounts, days, finite, reach, tell
from studio.charts.words import SIZE, width

TOP, BOTTOM, RIGHT = SIZE + 14, SIZE + 204, svg.WIDTH - 2 * svg.EDGE  # [px]
MOST_SELLERS = 12
Numbers = Iterable[Sequence[Number]]


def line_with_band(
    line: Numbers, points: Numbers = (), *, others: Numbers = (), x_title: str, y_title: str,
    caption: str,
) -> Chart:  # fmt: skip  # what is drawn, then its words
    """Draw a median line in its range, with points that were measured.

    Parameters
    ----------
    line : sequence of (x, low, median, high)
        In the order of x, [units of the two titles]
    points : sequence of (x, y)
        What was measured, drawn as discs, [the same units]
    others : sequence of (x, y)
        What the line rests on besides, drawn as rings, [the same units]
    x_title, y_title : str
        Names of the axes with their units, [-]
    caption : str
        What the chart shows; also read out in place of the picture, [-]

    Returns
    -------
    chart : Chart
        Picture and rows, [-]
    """
    rows = list(line)
    medians, rings, discs = _finite(rows), _finite(others), _finite(points)
    across = [row[0] for row in medians + rings + discs]
    up = [one for row in medians + rings + discs for one in row[1:]]
    y = _upward(up, zero=True)
    x = amounts(*reach(across), _left(y), RIGHT, nice=False)
    upper = [(x(at), y(high)) for at, _, _, high in medians]
    lower = [(x(at), y(low)) for at, low, _, _ in reversed(medians)]
    looks = {"stroke": "currentColor", "stroke_opacity": 0.15, "fill_opacity": 0.15}
    band = svg.along(*upper, *lower) + "Z"
    drawing = svg.tag("path", d=band, fill="currentColor", **looks) if medians else ""
    drawing += _curve([(x(at), y(middle)) for at, _, middle, _ in medians])
    for shape, spots in ((1, rings), (0, discs)):
        drawing += "".join(svg.dot(x(at), y(value), shape) for at, value in spots)
    table = (x_title, "Low", "Middle", "High"), rows
    return _crossed(x, y, x_title, y_title, drawing, up, caption, table)


def stock_life(history: Iterable[tuple[date, Number]], *, y_title: str, caption: str) -> Chart:
    """Draw what was left, day by day, with a disc for what is left now.

    Parameters
    ----------
    history : sequence of (date, number)
        Amount at the end of each day something moved; it holds until the next, [unit of y_title]
    y_title : str
        Name of the amount with its unit, [-]
    caption : str
        What the chart shows; also read out in place of the picture, [-]

    Returns
    -------
    chart : Chart
        Picture and rows, [-]
    """
    rows = list(history)
    known = _dated(rows)
    up = [amount for _, amount in known]
    y = _upward(up, zero=True)
    x = days((day for day, _ in rows), _left(y), RIGHT)
    spots = [(x(day), y(amount)) for day, amount in known]
    steps = [spot for (_, held), after in pairwise(spots) for spot in ((after[0], held), after)]
    drawing = _curve(spots[:1] + steps) + "".join(svg.dot(*spot) for spot in spots[-1:])
    return _crossed(x, y, "", y_title, drawing, up, caption, (("Day", y_title), rows))


def prices_over_time(
    prices: Iterable[tuple[date, str, Number, Number]], *, y_title: str, caption: str, table: Table
) -> Chart:
    """Draw what was paid over time, a shape a seller, and dashed what it came to.

    Parameters
    ----------
    prices : sequence of (date, str, number, number)
        Day, seller, price and landed cost, oldest first, [unit of ``y_title``]
    y_title : str
        Name of the price with its unit, [-]
    caption : str
        What the chart shows; also read out in place of the picture, [-]
    table : (sequence of str, sequence of tuple)
        Headings and rows of the same numbers, [-]

    Returns
    -------
    chart : Chart
        Picture and rows, [-]
    """
    prices = list(prices)
    sellers: dict[str, list[tuple[date, Number, Number]]] = {}
    for day, seller, price, landed in prices:
        sellers.setdefault(seller, []).append((day, price, landed))
    paid = list(map(_dated, sellers.values()))
    up = [one for spots in paid for _, *both in spots for one in both]
    y = _upward(up)
    x = days((day for day, *_ in prices), _left(y), RIGHT)
    drawing, looks = "", {"stroke_dasharray": DASHED, "stroke_opacity": 0.6}
    for shape, spots in enumerate(paid):
        points = [(x(day), y(one)) for day, one, _ in spots]
        drawing += _curve([(x(day), y(landed)) for day, _, landed in spots], 1.5, **looks)
        drawing += _curve(points, 1.5) + "".join(svg.dot(*spot, shape) for spot in points)
    key = [(svg.dot(0, 0, shape), seller) for shape, seller in enumerate(sellers)]
    return _crossed(x, y, "", y_title, drawing, up, caption, table, key[:MOST_SELLERS])


def _crossed(
    x: Scale, y: Scale, x_title: str, y_title: str, drawing: str, values: Sequence[float],
    caption: str, table: Table, key: Sequence[tuple[str, str]] = (),
) -> Chart:  # fmt: skip  # what is drawn, then its words
    """Put two axes about a drawing, and a legend below."""
    below, end = svg.axis_below(x, TOP, BOTTOM, x_title)
    marks, end = svg.legend(key, end)
    about = svg.axis_beside(y, x.start, x.end, y_title) + below
    span = f"from {tell(min(values))} to {tell(max(values))}" if values else "not known"
    return svg.chart(about + drawing + marks, end, caption, f"{y_title} {span}.", table)


def _upward(values: Sequence[float], zero: bool = False) -> Scale:
    return amounts(*reach(values, zero), BOTTOM, TOP)


def _left(y: Scale) -> float:
    return max(width(label) for _, label in y.ticks) + 8


def _curve(spots: Sequence[Spot], stroke_width: float = 2.5, **looks: object) -> str:
    """Return the line through the spots; through one alone, a short stroke."""
    if len(spots) == 1:
        ((x, y),) = spots
        spots = [(x - 3, y), (x + 3, y)]
    return svg.line(*spots, stroke_width=stroke_width, **looks) if spots else ""


def _finite(rows: Numbers) -> list[list[float]]:
    numbers = ([finite(one) for one in row] for row in rows)
    return [[one for one in row if one is not None] for row in numbers if None not in row]


def _dated(rows: Iterable[tuple[date, *tuple[Number, ...]]]) -> list[list[float]]:
    return _finite([day.toordinal(), *values] for day, *values in rows)
