"""Charts say what they were given: read back from the picture by its ticks, whatever comes in."""

from datetime import date
from xml.parsers import expat

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studio.charts import (
    bars,
    line_with_band,
    prices_over_time,
    stacked_bars,
    stock_bar,
    stock_life,
    strip,
)
from tests.studio import pictures

AMOUNTS = st.floats(-1e13, 1e13, allow_nan=False) | st.integers(-1000, 1000)
ANY = st.floats() | st.integers() | st.decimals(allow_nan=True).filter(lambda n: not n.is_snan())
DAYS = st.dates()
# Every character there is, lone surrogates and what XML forbids among them.
TEXT = st.text(st.characters(exclude_categories=()), max_size=60)
NO_TABLE = ("a",), []


def close(read, given, pixel):
    """Compare within what the picture's rounding to a hundredth of a pixel can tell."""
    return read == pytest.approx(given, abs=pixel * 0.05)


def bars_of(svg, name):
    """Return (left, right) of each rectangle in the row of this name."""
    for group in pictures.parts(svg, "g"):
        if group[0].tag.endswith("title") and group[0].text.startswith(f"{name}: "):
            boxes = [one for one in group if one.tag.endswith("rect")]
            return [(x := float(b.get("x")), x + float(b.get("width"))) for b in boxes]
    raise AssertionError(f"There is no row {name}.")


@settings(deadline=None)
@given(st.lists(AMOUNTS, min_size=1, max_size=8))
def test_bars_reach_from_zero_to_their_values(values):
    svg = bars([(f"row {at}", one) for at, one in enumerate(values)], title="USD", caption="x").svg
    value, pixel = pictures.amounts(svg, "x", "USD")

    for at, given_value in enumerate(values):
        found = bars_of(svg, f"row {at}")
        left, right = map(value, found[0] if found else (0, 0))
        expected = sorted((0, given_value))
        if found or abs(given_value) > pixel * 0.05:
            assert close(left, expected[0], pixel) and close(right, expected[1], pixel)


@settings(deadline=None)
@given(st.lists(st.lists(AMOUNTS, min_size=3, max_size=3), min_size=1, max_size=4))
def test_stacked_parts_add_up_to_the_right_and_to_the_left(rows):
    svg = stacked_bars(
        [(f"row {at}", values) for at, values in enumerate(rows)],
        parts=("Profit", "Tax", "Fees"),
        title="USD",
        caption="x",
    ).svg
    value, pixel = pictures.amounts(svg, "x", "USD")

    for at, values in enumerate(rows):
        drawn = [tuple(map(value, ends)) for ends in bars_of(svg, f"row {at}")]
        least = min([0, *(left for left, _ in drawn)])
        most = max([0, *(right for _, right in drawn)])
        assert close(least, sum(one for one in values if one < 0), pixel)
        assert close(most, sum(one for one in values if one > 0), pixel)
        # Side by side: nothing is hidden under anything.
        assert close(sum(right - left for left, right in drawn), most - least, 3 * pixel)


def circles(svg):
    return [(float(c.get("cx")), float(c.get("cy"))) for c in pictures.parts(svg, "circle")]


@settings(deadline=None)
@given(st.lists(st.tuples(AMOUNTS, AMOUNTS), min_size=1, max_size=9))
def test_points_stand_at_their_amounts(points):
    svg = line_with_band([], points, x_title="mm", y_title="mL", caption="x").svg
    across, wide = pictures.amounts(svg, "x", "mm")
    up, high = pictures.amounts(svg, "y", "mL")

    dots = [(across(x), up(y)) for x, y in circles(svg)]

    assert len(dots) == len(points)
    for (x, y), (x_given, y_given) in zip(dots, points, strict=True):
        assert close(x, x_given, wide) and close(y, y_given, high)


@settings(deadline=None)
@given(st.lists(st.tuples(AMOUNTS, AMOUNTS, AMOUNTS).map(sorted), min_size=1, max_size=9))
def test_the_band_reaches_from_low_to_high_and_the_line_lies_in_it(ranges):
    line = [(x, *three) for x, three in enumerate(ranges)]
    svg = line_with_band(line, x_title="mm", y_title="mL", caption="x").svg
    up, pixel = pictures.amounts(svg, "y", "mL")

    band, middle = (
        pictures.spots(one)
        for one in pictures.parts(svg, "path")
        if one.get("fill-opacity") or float(one.get("stroke-width", 0)) > 2
    )
    heights = [up(y) for _, y in band]

    assert all(close(y, high, pixel) for y, (*_, high) in zip(heights, line, strict=False))
    assert all(close(y, low, pixel) for y, (_, low, _, _) in zip(heights[::-1], line, strict=False))
    if len(line) > 1:
        assert all(close(up(y), row[2], pixel) for (_, y), row in zip(middle, line, strict=True))


@settings(deadline=None)
@given(st.lists(st.floats(1, 1000), max_size=9), st.lists(st.floats(1, 1000), max_size=9))
def test_a_strip_has_a_disc_or_a_ring_for_each_value(discs, rings):
    svg = strip(
        [("x", discs, rings)],
        mark=100,
        key=("in", "out", "as told"),
        title="%",
        caption="x",
        table=NO_TABLE,
    ).svg
    value, pixel = pictures.amounts(svg, "x", "%")
    found = pictures.parts(svg, "circle")[:-2]  # the last two are the legend's

    for places, wanted, full in ((discs, discs, "1"), (rings, rings, "0")):
        dots = [value(float(c.get("cx"))) for c in found if c.get("fill-opacity") == full]
        assert len(dots) == len(places)
        assert all(close(one, given, pixel) for one, given in zip(dots, wanted, strict=True))


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.dates(date(1000, 1, 1)), st.floats(0, 1e6)), min_size=1, max_size=9).map(
        sorted
    )
)
def test_days_stand_where_the_calendar_says(history):
    svg = stock_life(history, y_title="mL", caption="x").svg
    if len(pictures.ticks(svg, "x")) < 2:
        return  # a range of days with one turn of the calendar in it
    day, (up, pixel) = pictures.days(svg), pictures.amounts(svg, "y", "mL")
    wide = abs(day(1) - day(0))

    (last,) = circles(svg)

    assert close(day(last[0]), history[-1][0].toordinal(), wide)
    assert close(up(last[1]), history[-1][1], pixel)


def test_months_stand_on_their_first_day():
    # From 10 January to 30 November 2026 is too long for days: the ticks are firsts of months.
    svg = stock_life(
        [(date(2026, 1, 10), 5), (date(2026, 11, 30), 1)], y_title="mL", caption="x"
    ).svg

    found = {label: place for place, label in pictures.ticks(svg, "x")}

    # 1 May to 1 July is 61 days, 1 July to 1 September 62.
    assert list(found) == ["Mar", "May", "Jul", "Sep", "Nov"]
    first, second = found["Jul"] - found["May"], found["Sep"] - found["Jul"]
    assert second / first == pytest.approx(62 / 61, abs=0.001)
    assert ">2026<" in svg


def test_labels_of_years_turn_with_the_year():
    svg = stock_life([(date(2025, 9, 3), 5), (date(2026, 3, 4), 1)], y_title="mL", caption="x").svg

    labels = [label for _, label in pictures.ticks(svg, "x")]

    assert labels == ["Oct 2025", "Nov", "Dec", "Jan 2026", "Feb", "Mar"]


@pytest.mark.parametrize(
    ("values", "labels"),
    [
        ([7], ["0", "2", "4", "6", "8"]),
        ([-3.5, 12], ["−5", "0", "5", "10", "15"]),
        ([0.0023], ["0.0000", "0.0005", "0.0010", "0.0015", "0.0020", "0.0025"]),
        ([23_000], ["0", "5\u202f000", "10\u202f000", "15\u202f000", "20\u202f000", "25\u202f000"]),
        ([1e12], ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]),
        ([0], ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]),
        ([], ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]),
    ],
)
def test_ticks_are_round_and_reach_past_the_values(values, labels):
    svg = bars([("x", value) for value in values], title="USD", caption="x").svg

    assert [label for _, label in pictures.ticks(svg, "x")] == labels


def all_kinds(names, numbers, days):
    """Draw every kind of chart from the same odd material."""
    name, number = names[0], numbers[0]
    pairs = list(zip(names, numbers, strict=False))
    words = {"title": name, "caption": name}
    axes = {"x_title": name, "y_title": name, "caption": name}
    paid = [(day, one, n, number) for day, one, n in zip(days, names, numbers, strict=False)]
    quads = [(n, number, n, n) for n in numbers]
    return [
        bars(pairs, **words, heading=name),
        stacked_bars([(name, numbers)], parts=names, **words, heading=name),
        strip([(name, numbers, numbers)], mark=1, key=(name,) * 3, **words, table=(names, [names])),
        line_with_band(quads, list(zip(numbers, numbers, strict=True)), **axes),
        stock_life(list(zip(days, numbers, strict=False)), y_title=name, caption=name),
        prices_over_time(paid, y_title=name, caption=name, table=(names, [names])),
    ]


@settings(max_examples=150, deadline=None)
@given(
    st.lists(TEXT, min_size=1, max_size=9),
    st.lists(ANY, min_size=1, max_size=9),
    st.lists(DAYS, min_size=1, max_size=9).map(sorted),
)
def test_whatever_comes_in_is_drawn_whole_and_within_its_bounds(names, numbers, days):
    for chart in all_kinds(names, numbers, days):
        expat.ParserCreate().Parse(chart.svg.encode(), True)
        assert pictures.inside(chart.svg) == []
        "".join([chart.caption, *chart.headings]).encode()
    expat.ParserCreate().Parse(stock_bar(5, label=names[0]).encode(), True)


@pytest.mark.parametrize("sign", "\x01\x07\x0b\x1b\x7f\x85\ufffe\uffff\ud800\udfff\u202e\u2028")
def test_a_sign_that_no_page_can_hold_is_drawn_as_none(sign):
    charts = all_kinds([f"Salt{sign}marsh", "Dunes"], [3, 4], [date(2026, 3, 1)])

    for chart in charts:
        expat.ParserCreate().Parse(chart.svg.encode(), True)
        assert sign not in "".join(one for one in pictures.fromstring(chart.svg).itertext())
        assert chart.caption.startswith("Salt") and chart.caption.endswith("marsh")


def test_five_hundred_points_are_five_hundred_marks():
    points = [(at, at % 7) for at in range(500)]

    svg = line_with_band([], points, x_title="mm", y_title="mL", caption="x").svg

    assert len(pictures.parts(svg, "circle")) == 500 and pictures.inside(svg) == []


def test_bars_past_the_thirtieth_are_left_to_the_table():
    chart = bars([(f"Customer {at}", at) for at in range(1, 501)], title="USD", caption="x")

    assert len(pictures.parts(chart.svg, "rect")) == 30
    assert "470 more in the table" in chart.svg
    assert len(chart.rows) == 500


def test_a_long_name_is_shortened_and_told_whole():
    name = "An enormously long name of a commission, longer than any wall is wide"
    svg = bars([(name, 1)], title="USD", caption="x").svg

    (shown,) = [one.text for one in pictures.parts(svg, "text") if one.text.startswith("An ")]

    assert shown.endswith("…") and name.startswith(shown[:-1].rstrip())
    assert name in [one.text for one in pictures.parts(svg, "title")]


def test_marks_are_never_cut_from_their_letters_nor_piled_up():
    # Each n bears a tilde that is a sign of its own; a pile of thirty on one letter is cut short.
    tilde = "n\u0303"
    (long,) = (
        one.text
        for one in pictures.parts(bars([(tilde * 99, 1)], title="y", caption="x").svg, "text")
        if "…" in one.text
    )
    piled = bars([("o" + "\u0303" * 30, 1)], title="y", caption="x").svg

    assert set(long[:-1].split(tilde)) == {""}
    assert max(one.text.count("\u0303") for one in pictures.parts(piled, "text")) < 5


def test_a_name_read_from_the_right_keeps_its_own_direction():
    svg = bars([("שקיעה מעל הים " * 9, 1)], title="USD", caption="x").svg

    (shown,) = [one.text for one in pictures.parts(svg, "text") if "ש" in one.text]

    # First strong isolate to its end: the “…” then stands at the name's end, which is its left.
    assert (shown[0], shown[-2:]) == ("\u2068", "…\u2069")
