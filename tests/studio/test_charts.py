"""Charts: right where they must be, clean under the policy, the same each time."""

import re
from collections import defaultdict
from datetime import date
from decimal import Decimal
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from studio.charts import (
    bars,
    cut_bars,
    line_with_band,
    prices_over_time,
    stacked_bars,
    stock_bar,
    stock_life,
    strip,
)
from studio.charts.words import width
from tests.studio.pictures import parts, ticks

LINE = [(x, 8 * x, 10 * x, 13 * x) for x in range(1, 6)]
AXES = {"x_title": "Across, mm", "y_title": "Paint, mL"}
HISTORY = [(date(2026, 3, 1), 500), (date(2026, 3, 20), 320), (date(2026, 4, 20), 600)]


def charts():
    return [
        line_with_band(LINE, [(2, 21)], **AXES, caption="By size"),
        line_with_band(LINE, **AXES, caption="By size"),
        bars([("Market", 12), ("Shop", Decimal("-3.5"))], title="Profit, USD", caption="Profit"),
        bars([], title="Profit, USD", caption="Profit"),
        stock_life(HISTORY, y_title="mL", caption="White"),
        stacked_bars(
            [("Market", [5, 4]), ("Shop", [-1, 4])],
            parts=("Profit", "Fees"),
            title="USD",
            caption="Profit",
        ),
        cut_bars(
            [("Forecast", [5, 4, 0.01, 3]), ("Came out", [6, 3, 0, -2])],
            parts=("Base coat", "Work", "Tissue", "Profit"),
            title="USD",
            caption="One set",
        ),
        strip(
            [("Bloom", [90, 105], [150])],
            mark=100,
            key=("inside", "outside", "as forecast"),
            title="%",
            caption="Taken",
            table=(("Technique", "Amounts"), [("Bloom", 3)]),
        ),
        prices_over_time(
            [(day, name, 4, 5) for day, _ in HISTORY for name in ("Dry Dock", "Kettle Lane")],
            y_title="USD per mL",
            caption="Paid",
            table=(("Day",), [(day,) for day, _ in HISTORY]),
        ),
    ]


@pytest.fixture(scope="module")
def drawn():
    return charts()


def test_a_chart_is_clean_under_the_strict_policy(drawn):
    for chart in drawn:
        root = ElementTree.fromstring(chart.svg)
        for element in root.iter():
            assert element.tag.rpartition("}")[2] not in (
                "style",
                "script",
                "image",
                "foreignObject",
            )
            assert not {"style", "class", "id", "href"} & set(element.attrib)
            assert not [name for name in element.attrib if name.startswith("on")]


def test_a_chart_is_one_picture_with_words(drawn):
    for chart in drawn:
        root = ElementTree.fromstring(chart.svg)
        assert (root.get("role"), root.get("aria-label")) == ("img", chart.caption)
        assert root.get("viewBox") == f"0 0 {root.get('width')} {root.get('height')}"
        assert [one.tag.rpartition("}")[2] for one in root[:2]] == ["title", "desc"]
        assert root[0].text == chart.caption and root[1].text


def test_text_and_axes_follow_the_pages_ink(drawn):
    for chart in drawn:
        text = re.findall(r"<text[^>]*>", chart.svg)
        assert text
        assert all('fill="currentColor"' in tag for tag in text)
        assert set(re.findall(r'(?:fill|stroke)="(.*?)"', chart.svg)) <= {"currentColor", "none"}


def test_the_same_numbers_are_the_same_picture(drawn):
    assert [chart.svg for chart in charts()] == [chart.svg for chart in drawn]


def test_the_bars_stand_in_proportion():
    svg = bars([("A", 100), ("B", 50), ("C", 25)], title="USD", caption="x").svg

    widths = [
        float(one.get("width"))
        for one in ElementTree.fromstring(svg).iter()
        if one.tag.endswith("rect")
    ]
    assert len(widths) == 3
    assert widths[0] == pytest.approx(2 * widths[1]) == pytest.approx(4 * widths[2])


def test_a_name_is_text_and_two_bars_may_bear_one():
    chart = bars(
        [('<b>"x"</b>', 1), ('<b>"x"</b>', 2)], title="USD", caption='A "picture" & <more>'
    )

    texts = [e.text for e in ElementTree.fromstring(chart.svg).iter() if e.tag.endswith("text")]
    assert texts.count('<b>"x"</b>') == 2
    assert ElementTree.fromstring(chart.svg).get("aria-label") == 'A "picture" & <more>'


def test_two_charts_on_a_page_share_no_inner_names(drawn):
    assert [re.findall(r'id="[^"]+"|url\(', chart.svg) for chart in drawn] == [[]] * len(drawn)


def test_a_chart_brings_its_numbers_as_a_table(drawn):
    assert drawn[0].headings == ("Across, mm", "Low", "Middle", "High")
    assert drawn[0].rows == tuple(LINE)
    assert drawn[2].rows == (("Market", 12), ("Shop", Decimal("-3.5")))


def test_a_bar_is_cut_and_numbered_and_no_number_touches_another(drawn):
    chart = drawn[6]

    assert chart.rows[0] == ("1 Base coat", 5, 6)
    by_line = defaultdict(list)
    for one in parts(chart.svg, "text"):
        half = width(one.text) / 2
        by_line[float(one.get("y"))].append((float(one.get("x")), half, one.text))
    told = [[text for *_, text in line] for line in by_line.values()]
    assert [line for line in told if "1" in line] == [["1", "2", "3", "4"], ["4", "1", "2"]]
    for line in by_line.values():
        for (x, half, _), (other, its, _) in pairwise(sorted(line)):
            assert other - x >= half + its
    wide = [float(one.get("width")) for one in parts(chart.svg, "rect")]
    assert wide[0] / wide[1] == pytest.approx(5 / 4, rel=1e-2)
    assert sum(wide[:4]) == pytest.approx(wide[0] * 12.01 / 5, rel=1e-2)


def test_days_are_the_studios_whatever_the_machines_zone(drawn):
    assert [label for _, label in ticks(drawn[4].svg, "x")][:2] == ["1 Mar", "11 Mar"]


def bar_widths(svg):
    return [float(w) for w in re.findall(r'class="(?:free|held)"[^>]*width="([\d.]+)"', svg)]


@pytest.mark.parametrize(
    ("amounts", "widths"),
    [
        ((100, 0, 0, 200), [100, 0]),  # half full, all free
        ((100, 25, 50, 200), [75, 25]),  # a quarter of it promised
        ((100, 500, 50, 200), [0, 100]),  # more promised than there is
        ((-5, 0, 50, 200), [0, 0]),  # below nothing is nothing
        ((300, 0, 0, 200), [200, 0]),  # fuller than full is full
        ((0, 0, 0, None), [0, 0]),
    ],
)
def test_the_stock_bar_shows_what_is_free_and_promised(amounts, widths):
    assert bar_widths(stock_bar(*amounts)) == widths


def test_the_stock_bar_is_silent_unless_named():
    assert 'aria-hidden="true"' in stock_bar(Decimal(5))
    assert 'aria-label="5 &lt; 9"' in stock_bar(Decimal(5), label="5 < 9")
