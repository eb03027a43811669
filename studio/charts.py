"""Numbers to SVG that stands in a page under the strict policy and in a PDF alike.

Axes and text are drawn in ``currentColor``, so that they follow light, dark and print. A chart
comes with its numbers as rows, because a picture alone is not for everybody.
"""

import hashlib
import json
import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.core.cache import cache
from django.utils.html import escape, format_html
from django.utils.safestring import SafeString, mark_safe

PETROL, CLAY = "#2b8a93", "#c8623d"
# Told apart by people who see few colours, on light and dark ground; the shape tells them too.
COLOURS = (PETROL, CLAY, "#8a6fb0", "#a08420", "#5b7fb5", "#7a7f2b")
SHAPES = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down")
WIDTH, HEIGHT, BAR_STEP = 340, 210, 30
CACHE_SECONDS = 24 * 3600
TEXT_SIZE = 13


@dataclass(frozen=True)
class Chart:
    """A picture, what it shows, and the same numbers as a table."""

    svg: SafeString
    caption: str
    headings: tuple[str, ...]
    rows: tuple[tuple, ...]


def line_with_band(line, points=(), *, others=(), x_title, y_title, caption):
    """Draw a median line in its range, with points that were measured.

    Parameters
    ----------
    line : sequence of (x, low, median, high)
        In the order of x, [units of the two titles]
    points : sequence of (x, y)
        What was measured, [the same units]
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
    import altair as alt

    data = alt.Data(values=[dict(zip("xlmh", map(float, row), strict=True)) for row in line])
    x = alt.X("x:Q", title=x_title, scale=alt.Scale(zero=False, nice=False), axis=_few_ticks(alt))
    y = alt.Y("m:Q", title=y_title)
    band = (
        alt.Chart(data)
        .mark_area(color=PETROL, opacity=0.25)
        .encode(x=x, y=alt.Y("l:Q", title=y_title), y2="h:Q")
    )
    median = alt.Chart(data).mark_line(color=PETROL, strokeWidth=2.5).encode(x=x, y=y)
    layers = band + median
    for some, is_filled in ((others, False), (points, True)):
        if some:
            dots = alt.Data(values=[{"x": float(a), "m": float(b)} for a, b in some])
            mark = alt.Chart(dots).mark_point(
                color=CLAY, filled=is_filled, size=55, opacity=0.9, strokeWidth=1.5
            )
            layers += mark.encode(x=x, y=y)
    return Chart(
        _svg(layers, caption),
        caption,
        (x_title, "Low", "Middle", "High"),
        tuple(tuple(row) for row in line),
    )


def bars(rows, *, title, caption, heading=""):
    """Draw one bar for each name, in the order given; what is below zero points left.

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
    import altair as alt

    # The place in the list is the key, since two bars may bear one name.
    values = [
        {"place": place, "name": str(name), "value": float(value)}
        for place, (name, value) in enumerate(rows)
    ]
    names = [row["name"] if len(row["name"]) <= 20 else f"{row['name'][:19]}…" for row in values]
    # Room for the names in a wide font, since the reader's may be wider than the one measured here.
    room = max(map(len, names), default=0) * 8
    labels = alt.Axis(
        labelExpr=f"{json.dumps(names)}[datum.value]", labelLimit=0, minExtent=room, ticks=False
    )
    chart = (
        alt.Chart(alt.Data(values=values))
        .mark_bar(color=PETROL)
        .encode(
            x=alt.X("value:Q", title=title, axis=_few_ticks(alt)),
            y=alt.Y("place:O", title=None, axis=labels),
            color=alt.condition("datum.value < 0", alt.value(CLAY), alt.value(PETROL)),
        )
        .properties(width=WIDTH + 40 - room, height=alt.Step(BAR_STEP))
    )
    return Chart(_svg(chart, caption), caption, (heading, title), tuple(map(tuple, rows)))


def stock_life(history, forecast=(), *, reorder_point=None, y_title, caption):
    """Draw stock as it was and as it will run down, with the reorder point.

    Parameters
    ----------
    history : sequence of (date, number)
        Amount at the end of each day something moved; it holds until the next, [unit of y_title]
    forecast : sequence of (date, number)
        Amount expected from today on, [unit of y_title]
    reorder_point : number, optional
        Level at which an order is due, [unit of y_title]
    y_title : str
        Name of the amount with its unit, [-]
    caption : str
        What the chart shows; also read out in place of the picture, [-]

    Returns
    -------
    chart : Chart
        Picture and rows, [-]
    """
    import altair as alt

    def series(rows):
        return alt.Data(values=[{"d": _iso(day), "q": float(amount)} for day, amount in rows])

    # Days are read and shown in UTC, so that the machine's own zone does not shift them.
    x = alt.X("d:T", title=None, scale=alt.Scale(type="utc"), axis=_few_ticks(alt, format="%d %b"))
    y = alt.Y("q:Q", title=y_title, scale=alt.Scale(domainMin=0))
    was = alt.Chart(series(history)).mark_line(
        color=PETROL, strokeWidth=2.5, interpolate="step-after"
    )
    layers = was.encode(x=x, y=y)
    if forecast:
        ahead = alt.Chart(series(forecast)).mark_line(
            color=PETROL, strokeWidth=2, strokeDash=[5, 4]
        )
        layers += ahead.encode(x=x, y=y)
    if reorder_point is not None:
        level = alt.Data(values=[{"q": float(reorder_point)}])
        layers += (
            alt.Chart(level).mark_rule(color=CLAY, strokeWidth=2, strokeDash=[2, 3]).encode(y=y)
        )
    return Chart(
        _svg(layers, caption),
        caption,
        ("Day", y_title),
        (*map(tuple, history), *map(tuple, forecast)),
    )


def prices_over_time(prices, *, y_title, caption, headings, rows):
    """Draw what was paid over time, a colour and a shape a seller, and dashed what it came to.

    Parameters
    ----------
    prices : sequence of (date, str, number, number)
        Day, seller, price and landed cost, oldest first, [unit of ``y_title``]
    y_title : str
        Name of the price with its unit, [-]
    caption : str
        What the chart shows; also read out in place of the picture, [-]
    headings, rows : sequence of str, sequence of tuple
        The same numbers as a table, [-]

    Returns
    -------
    chart : Chart
        Picture and rows, [-]
    """
    import altair as alt

    # A seller is known by a number, since a name may hold anything; the legend writes the name.
    names = list(dict.fromkeys(seller for _, seller, _, _ in prices))
    values = [
        {"d": _iso(day), "s": names.index(seller), "p": float(price), "l": float(landed)}
        for day, seller, price, landed in prices
    ]
    base = alt.Chart(alt.Data(values=values))
    x = alt.X(
        "d:T", title=None, scale=alt.Scale(type="utc"), axis=_few_ticks(alt, format="%d %b %y")
    )
    shown = [name if len(name) <= 30 else f"{name[:29]}…" for name in names]
    legend = alt.Legend(
        orient="bottom",
        direction="vertical",
        title=None,
        labelExpr=f"{json.dumps(shown)}[datum.value]",
        labelLimit=0,
    )
    sellers = list(range(len(names)))
    colour = alt.Color(
        "s:N", legend=legend, scale=alt.Scale(domain=sellers, range=_cycled(COLOURS, sellers))
    )
    shape = alt.Shape(
        "s:N", legend=legend, scale=alt.Scale(domain=sellers, range=_cycled(SHAPES, sellers))
    )

    def y(field):
        return alt.Y(f"{field}:Q", title=y_title, scale=alt.Scale(zero=False), axis=_few_ticks(alt))

    paid = base.mark_line(strokeWidth=2.5).encode(x=x, y=y("p"), color=colour)
    landed = base.mark_line(strokeWidth=1.5, strokeDash=[4, 3], opacity=0.8).encode(
        x=x, y=y("l"), color=colour
    )
    dots = base.mark_point(size=55, filled=True, opacity=0.9).encode(
        x=x, y=y("p"), color=colour, shape=shape
    )
    layers = (landed + paid + dots).properties(width=WIDTH, height=HEIGHT)
    return Chart(_svg(layers, caption), caption, tuple(headings), tuple(map(tuple, rows)))


def _cycled(things, places):
    return [things[place % len(things)] for place in places]


def stock_bar(on_hand, held=0, reorder_point=0, full=None, label=""):
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
    svg : SafeString
        An inline SVG with the classes ``ground``, ``free`` and ``held``, [-]
    """
    on_hand, held, mark = (max(Decimal(n or 0), Decimal(0)) for n in (on_hand, held, reorder_point))
    promised = min(held, on_hand)
    whole = max(Decimal(full or 0), on_hand, mark) or Decimal(1)
    free, kept, due = (
        round(float(n / whole) * 200, 1) for n in (on_hand - promised, promised, mark)
    )
    named = format_html('role="img" aria-label="{}"', label) if label else 'aria-hidden="true"'
    tick = (
        f'<path d="M{min(due, 199)} 0V14" stroke="currentColor" stroke-width="2"/>' if mark else ""
    )
    return mark_safe(
        f'<svg class="stock-bar" viewBox="0 0 200 14" preserveAspectRatio="none" {named}>'
        '<rect class="ground" y="2" width="200" height="10" rx="3"/>'
        f'<rect class="free" y="2" width="{free}" height="10" rx="3"/>'
        f'<rect class="held" y="2" x="{free}" width="{kept}" height="10" rx="3"/>{tick}</svg>'
    )


def _few_ticks(alt, **options):
    return alt.Axis(tickCount=5, labelOverlap=True, labelSeparation=10, **options)


def _iso(day):
    return day.isoformat() if isinstance(day, date) else str(day)


def _svg(chart, caption):
    """Draw a chart once for the same numbers and keep the picture for a day."""
    if not (chart.to_dict().get("width") or chart.to_dict().get("height")):
        chart = chart.properties(width=WIDTH, height=HEIGHT)
    spec = chart.to_dict() | {"config": _looks()}
    text = json.dumps(spec, sort_keys=True)
    digest = hashlib.sha256(text.encode()).hexdigest()
    svg = cache.get(f"chart:{digest}")
    if svg is None:
        import vl_convert

        svg = vl_convert.vegalite_to_svg(json.loads(text))
        cache.set(f"chart:{digest}", svg, CACHE_SECONDS)
    return _named(svg, caption, digest[:8])


def _looks():
    """Return the settings every chart shares; Altair's own checks know no ``currentColor``."""
    ink = dict.fromkeys(
        ("labelColor", "titleColor", "domainColor", "tickColor", "gridColor"), "currentColor"
    )
    size = {"labelFontSize": TEXT_SIZE, "titleFontSize": TEXT_SIZE, "titleFontWeight": "normal"}
    return {
        "background": None,
        "font": "sans-serif",
        "legend": {"labelColor": "currentColor", "labelFontSize": TEXT_SIZE},
        "axis": ink | size | {"gridOpacity": 0.15},
        "view": {"stroke": None},
    }


def _named(svg, caption, key):
    """Give the picture its words, and its inner names a prefix no other chart on the page has."""
    svg = re.sub(r'(id="|url\(#|href="#)', rf"\g<1>c{key}-", svg)
    svg = svg.replace('role="graphics-object" aria-roledescription="group mark container"', "")
    return mark_safe(svg.replace("<svg ", f'<svg role="img" aria-label="{escape(caption)}" ', 1))
