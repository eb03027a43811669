"""Charts with a row for each name: bars, bars in parts, dots along a line; and a shelf's bar."""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from studio.charts import drawing as svg
from studio.charts.drawing import FORMS, HATCHED, OUTLINE, SOLID, Chart, Form, Svg, Table
from studio.charts.scales import Number, Scale, amounts, finite, reach, tell
from studio.charts.words import clean, width

ROW, BAR, NUMBERS = 46, 18, 18  # a row has its name above its bar, and may have numbers below, [px]
MOST_ROWS, MOST_TOLD = 30, 12
# A name, its pieces of a bar (from, to, form) and its dots (where, shape).
Entry = tuple[str, Sequence[tuple[float, float, Form]], Sequence[tuple[float, int]]]


def bars(
    rows: Iterable[tuple[str, Number]], *, title: str, caption: str, heading: str = ""
) -> Chart:
    """Draw one bar for each name, in the order given; what is below zero points left, hollow.

    Parameters
    ----------
    rows : sequence of (str, number)
        A name and its value, [unit of ``title``]
    title : str
        What is measured, with its unit, [-]
    caption : str
        What the chart shows; also read out in place of the picture, [-]
    heading : str
        What the names are, for the table, [-]

    Returns
    -------
    chart : Chart
        Picture and rows, [-]
    """
    rows = list(rows)
    entries = [_entry(name, [value]) for name, value in rows]
    return _in_rows(entries, title, caption, ((heading, title), rows))


def stacked_bars(
    rows: Iterable[tuple[str, Sequence[Number]]], *, parts: Sequence[str], title: str, caption: str,
    heading: str = "",
) -> Chart:  # fmt: skip  # what is drawn, then its words
    """Draw a bar in parts for each name; parts above zero add up to the right, others to the left.

    Parameters
    ----------
    rows : sequence of (str, sequence of number)
        A name and the value of each part, [unit of ``title``]
    parts : sequence of str
        What the parts are; the first begins at zero, so it compares best, [-]
    title, caption, heading : str
        As of `bars`, [-]

    Returns
    -------
    chart : Chart
        Picture and rows, [-]
    """
    rows = list(rows)
    entries = [_entry(name, values) for name, values in rows]
    key = [(svg.box(-9, -6, 18, 12, _form(at)), part) for at, part in enumerate(parts)]
    table = ((heading, *parts), [(name, *values) for name, values in rows])
    return _in_rows(entries, title, caption, table, key)


def cut_bars(
    rows: Iterable[tuple[str, Sequence[Number]]], *, parts: Sequence[str], title: str, caption: str,
) -> Chart:  # fmt: skip  # what is drawn, then its words
    """Draw a bar cut into many parts for each name, each part's number below it where it fits.

    The table has a row for each part, in the order of their numbers, and a column for each name.

    Parameters
    ----------
    rows : sequence of (str, sequence of number)
        A name and the value of each part, [unit of ``title``]
    parts : sequence of str
        What the parts are, the first numbered 1, [-]
    title, caption : str
        As of `bars`, [-]

    Returns
    -------
    chart : Chart
        Picture and rows, [-]
    """
    rows = list(rows)
    entries = [_entry(name, values) for name, values in rows]
    columns = zip(*(values for _, values in rows), strict=True)
    lines = [
        (f"{place} {part}", *values)
        for place, (part, values) in enumerate(zip(parts, columns, strict=True), 1)
    ]
    table = (("", *(name for name, _ in rows)), lines)
    return _in_rows(entries, title, caption, table, is_numbered=True)


def _entry(name: str, values: Iterable[Number]) -> Entry:
    """Put the parts of a bar end to end; a first part below zero, such as a loss, is hollow."""
    pieces, ends = [], [0.0, 0.0]
    for at, value in enumerate(values):
        one = finite(value) or 0.0
        start, ends[one > 0] = ends[one > 0], ends[one > 0] + one
        pieces.append((start, start + one, OUTLINE if at == 0 and one < 0 else _form(at)))
    return name, pieces, ()


def _form(part: int) -> Form:
    return FORMS[part % len(FORMS)]


def strip(
    rows: Iterable[tuple[str, Sequence[Number], Sequence[Number]]], *, mark: Number,
    key: tuple[str, str, str], title: str, caption: str, table: Table,
) -> Chart:  # fmt: skip  # what is drawn, then its words
    """Draw a dot for each value along the line of its name, about a dotted mark.

    Parameters
    ----------
    rows : sequence of (str, sequence of number, sequence of number)
        A name, its values drawn as discs and those drawn as rings, [unit of ``title``]
    mark : number
        Where the dotted line stands, [unit of ``title``]
    key : (str, str, str)
        What a disc, a ring and the dotted line are, [-]
    title, caption : str
        As of `bars`, [-]
    table : (sequence of str, sequence of tuple)
        Headings and rows of the same numbers, [-]

    Returns
    -------
    chart : Chart
        Picture and rows, [-]
    """
    entries: list[Entry] = []
    for name, discs, rings in rows:
        dots = [(finite(value), 0) for value in discs] + [(finite(value), 1) for value in rings]
        entries.append((name, (), [(one, shape) for one, shape in dots if one is not None]))
    marks = svg.dot(0, 0), svg.dot(0, 0, 1), _dotted(0, -8, 8)
    return _in_rows(entries, title, caption, table, zip(marks, key, strict=True), float(mark))


def _in_rows(
    entries: Sequence[Entry], title: str, caption: str, table: Table,
    key: Iterable[tuple[str, str]] = (), mark: float | None = None, is_numbered: bool = False,
) -> Chart:  # fmt: skip  # what is drawn, then its words
    """Draw the entries below each other over one axis."""
    drawn_entries, sentences = entries[:MOST_ROWS], []
    ends = [end for _, pieces, _ in drawn_entries for *both, _ in pieces for end in both]
    ends += [one for *_, dots in drawn_entries for one, _ in dots] + (
        [] if mark is None else [mark]
    )
    scale = amounts(*reach(ends), svg.EDGE, svg.WIDTH - svg.EDGE)
    numbers = NUMBERS if is_numbered else 0  # the room below each bar, [px]
    high = ROW + numbers
    bottom = high * max(len(drawn_entries), 1)
    # Lines through the bars alone, not through the names between them.
    drawing, end = svg.axis_below(
        scale,
        ROW - BAR - 4,
        bottom,
        title,
        stroke_dasharray=f"{BAR + 8} {high - BAR - 8}",
    )
    for at, (name, pieces, dots) in enumerate(drawn_entries):
        values = [end - start for start, end, _ in pieces] + [one for one, _ in dots]
        sentences.append(f"{clean(name)}: {', '.join(map(tell, values[:MOST_TOLD]))}")
        y = high * (at + 1) - numbers - BAR / 2
        row = svg.title(sentences[at]) + svg.label(
            svg.EDGE, y - BAR / 2 - 8, name, svg.WIDTH - svg.EDGE
        )
        for *both, form in pieces:
            left, right = sorted(map(scale, both))
            row += svg.box(left, y - BAR / 2, right - left, BAR, form) if right > left else ""
        row += _numbered(pieces, scale, y + BAR / 2 + NUMBERS - 3) if is_numbered else ""
        row += "" if mark is None else _dotted(scale(mark), y - BAR / 2 - 4, y + BAR / 2 + 4)
        for place, (one, shape) in enumerate(dots):  # by turns, so that equal ones are seen as such
            row += svg.dot(scale(one), y + (place % 5 - 2) * 3, shape, 3)
        drawing += svg.tag("g", row)
    marks, end = svg.legend(key, end)
    if more := len(entries) - len(drawn_entries):
        end += svg.LINE
        marks += svg.label(0, end - 6, f"{more} more in the table")
    return svg.chart(
        drawing + marks, end, caption, f"{title}. {'; '.join(sentences[:MOST_TOLD])}", table
    )


def _numbered(pieces: Sequence[tuple[float, float, Form]], scale: Scale, y: float) -> str:
    """Return the number of each part below its middle, but where it would touch another."""
    drawing, taken = "", 0.0
    spots = [(scale(a) + scale(b), str(at)) for at, (a, b, _) in enumerate(pieces, 1) if a != b]
    for twice, text in sorted(spots):  # a loss stands left of all others
        middle, half = twice / 2, width(text) / 2 + 2
        if middle - half > taken:
            drawing += svg.label(middle, y, text, anchor="middle")
            taken = middle + half
    return drawing


def _dotted(x: float, top: float, bottom: float) -> str:
    return svg.line((x, top), (x, bottom), stroke_width=2, stroke_dasharray=svg.DOTTED)


def stock_bar(
    on_hand: Number, held: Number | None = 0, reorder_point: Number | None = 0,
    full: Number | None = None, label: str = "",
) -> Svg:  # fmt: skip  # what is drawn, then its words
    """Draw how much of a shelf is free and promised, with a mark where reordering is due.

    Parameters
    ----------
    on_hand, held, reorder_point : Decimal
        Amounts in one unit; less than nothing is drawn as nothing, [mL, g or each]
    full : Decimal, optional
        What the whole bar stands for; the largest of the amounts when left out, [the same unit]
    label : str
        What is read out instead of the picture; a silent picture when empty, [-]

    Returns
    -------
    svg : Svg
        An inline SVG: free is solid, promised hatched, the rest of the bar empty, [-]
    """
    stock, held_amount, mark = (
        max(Decimal(n or 0), Decimal(0)) for n in (on_hand, held, reorder_point)
    )
    held_amount = min(held_amount, stock)
    whole = max(Decimal(full or 0), stock, mark) or Decimal(1)
    free, promised, due = (float(n / whole * 200) for n in (stock - held_amount, held_amount, mark))
    named = {"role": "img", "aria_label": clean(label)} if label else {"aria_hidden": "true"}
    inside = svg.box(0.5, 3.5, 199, 7, OUTLINE, stroke_opacity=0.5)
    inside += svg.box(0, 3.5, free, 7, SOLID, class_="free")
    inside += svg.box(free, 3.5, promised, 7, HATCHED, class_="held")
    inside += svg.line((min(due, 199), 0), (min(due, 199), 14), stroke_width=2) if mark else ""
    room = {"class_": "stock-bar", "viewBox": "0 0 200 14", "preserveAspectRatio": "none"}
    return Svg(svg.tag("svg", inside, **room, **named))
