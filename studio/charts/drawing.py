"""Marks, labels and axes as SVG, and the picture that holds them with its words."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from studio.charts.scales import Scale
from studio.charts.words import SIZE, clean, shorten, width

WIDTH, EDGE = 380, 12  # [px]
LINE = 20  # from one line of text to the next, [px]
GAP = 5  # between the lines of a hatch, [px]
Spot = tuple[float, float]
Form = tuple[float, str]
Table = tuple[Sequence[str], Iterable[Sequence[object]]]
# Opacity of the fill and ways it is hatched: told apart in black on white and without colours.
FORMS: tuple[Form, ...] = ((1, ""), (0.45, ""), (0, "/"), (0.15, ""), (0, "/\\"), (0, ""))
SOLID, HATCHED, OUTLINE = FORMS[0], FORMS[2], FORMS[5]
DASHED, DOTTED = "5 4", "2 3"
# Squares, triangles and diamonds about the middle; before them come circles.
CORNERS: tuple[tuple[Spot, ...], ...] = (
    ((-1, -1), (1, -1), (1, 1), (-1, 1)),
    ((0, -1.2), (1.2, 1), (-1.2, 1)),
    ((0, -1.4), (1.4, 0), (0, 1.4), (-1.4, 0)),
)
SHAPES = 2 + 2 * len(CORNERS)


class Svg(str):
    """SVG as text, which a page takes as it is."""

    def __html__(self) -> str:
        return self


@dataclass(frozen=True)
class Chart:
    """A picture, what it shows, and the same numbers as a table."""

    svg: Svg
    caption: str
    headings: tuple[str, ...]
    rows: tuple[tuple[object, ...], ...]


def tag(name: str, *inside: str, **attributes: object) -> str:
    """Return an element; what stands inside is SVG, what an attribute holds is clean."""
    words = "".join(
        f' {key.strip("_").replace("_", "-")}="'
        f'{number(value) if isinstance(value, int | float) else escape(str(value))}"'
        for key, value in attributes.items()
    )
    return f"<{name}{words}>{''.join(inside)}</{name}>" if inside else f"<{name}{words}/>"


def title(text: str) -> str:
    """Return what is read of an element, and shown when it is pointed at."""
    return tag("title", escape(clean(text)))


def number(value: float) -> str:
    """Return a length to a hundredth of a pixel, [px].

    >>> number(12.3456), number(-0.001)
    ('12.35', '0')
    """
    return f"{round(value, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


def along(*spots: Spot) -> str:
    """Return the spots as the data of a path."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in spots)


def line(*spots: Spot, stroke_width: float = 1, **attributes: object) -> str:
    """Return the line through the spots."""
    looks = {"fill": "none", "stroke": "currentColor", "stroke_width": stroke_width}
    return tag("path", d=along(*spots), **looks, **attributes)


def label(x: float, y: float, text: str, room: float = WIDTH, anchor: str = "start") -> str:
    """Return text at its baseline; what is too long for its room is told whole when pointed at."""
    whole = clean(text)
    short = shorten(whole, room)
    looks = {"text_anchor": anchor, "font_size": SIZE, "fill": "currentColor"}
    words = tag("text", escape(short), x=x, y=y, **looks)
    return tag("g", title(whole), words) if "…" in short else words


def box(x: float, y: float, wide: float, high: float, form: Form, **attributes: object) -> str:
    """Return a rectangle in one of the `FORMS`."""
    opacity, ways = form
    looks = {"fill": "currentColor", "fill_opacity": opacity, "stroke": "currentColor"}
    drawing = tag("rect", **attributes, x=x, y=y, width=wide, height=high, **looks)
    # Lines cut to the rectangle, since the name of a pattern could meet its like on the page.
    for way in ways:
        lines = ""
        for place in range(GAP, int(wide + high), GAP):
            a, up = max(0, place - high), min(place, high)
            b, down = min(place, wide), max(0, place - wide)
            up, down = (high - up, high - down) if way == "\\" else (up, down)
            lines += along((x + a, y + up), (x + b, y + down))
        drawing += tag("path", d=lines, fill="none", stroke="currentColor") if lines else ""
    return drawing


def dot(x: float, y: float, shape: int = 0, size: float = 4) -> str:
    """Return a mark: a disc, a ring, then squares, triangles and diamonds, full and empty."""
    looks = {"fill": "currentColor", "fill_opacity": 1 - shape % 2, "stroke": "currentColor"}
    if shape % SHAPES < 2:
        return tag("circle", cx=x, cy=y, r=size, **looks)
    corners = CORNERS[shape % SHAPES // 2 - 1]
    return tag("path", d=along(*((x + a * size, y + b * size) for a, b in corners)) + "Z", **looks)


def axis_below(
    scale: Scale, top: float, bottom: float, named: str, **looks: object
) -> tuple[str, float]:
    """Return an axis under the drawing with its lines through it, and the height it ends at."""

    def centred(x: float, y: float, text: str) -> str:
        half = min(width(text), WIDTH) / 2
        return label(min(max(x, half), WIDTH - half), y, text, anchor="middle")

    drawing, end = "", bottom + 18
    for value, text in scale.ticks:
        x = scale(value)
        opacity = 1 if value == 0 else 0.15
        rule = line((x, top), (x, bottom + 4), stroke_width=1, stroke_opacity=opacity, **looks)
        drawing += tag("g", rule, centred(x, end, text))
    if words := scale.factor + named:
        end += LINE
        drawing += centred((scale.start + scale.end) / 2, end, words)
    return drawing, end + 6


def axis_beside(scale: Scale, left: float, right: float, named: str) -> str:
    """Return an axis at the left with its lines through the drawing, and its title above."""
    drawing = label(0, SIZE, scale.factor + named)
    for value, text in scale.ticks:
        y = scale(value)
        rule = line((left, y), (right, y), stroke_opacity=1 if value == 0 else 0.15)
        drawing += tag("g", rule, label(left - 6, y + 4, text, anchor="end"))
    return drawing


def legend(entries: Iterable[tuple[str, str]], top: float) -> tuple[str, float]:
    """Return marks (drawn about 0, 0) with their meaning, side by side as they fit, and the end."""
    drawing, x, y = "", 1.0, top + LINE / 2
    for mark, text in entries:
        wide = 24 + min(width(clean(text)), WIDTH - 26)
        if x > 1 and x + wide > WIDTH:
            x, y = 1.0, y + LINE
        drawing += tag("g", mark, transform=f"translate({number(x + 9)} {number(y)})")
        drawing += label(x + 24, y + 4, text, WIDTH - 26)
        x += wide + 16
    return drawing, y + LINE / 2 + 4 if drawing else top


def chart(inside: str, height: float, caption: str, numbers: str, table: Table) -> Chart:
    """Return the chart that holds the drawing, named by its caption, described by its numbers."""
    caption = clean(caption)
    words = title(caption) + tag("desc", escape(clean(numbers)))
    room = {"viewBox": f"0 0 {WIDTH} {number(height)}", "width": WIDTH, "height": height}
    named = {"xmlns": "http://www.w3.org/2000/svg", "role": "img", "aria_label": caption}
    headings, rows = table
    clean_rows = tuple(
        tuple(clean(one) if isinstance(one, str) else one for one in row) for row in rows
    )
    svg = Svg(tag("svg", words, inside, **room, **named))
    return Chart(svg, caption, tuple(map(clean, headings)), clean_rows)
