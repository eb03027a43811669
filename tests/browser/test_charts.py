"""Charts as Chromium draws them: no label outside its picture, none upon another."""

from datetime import date, timedelta

import pytest

from studio.charts import bars, line_with_band, prices_over_time, stacked_bars, stock_life

MEASURE = """
[...document.querySelectorAll("svg")].flatMap((svg) => {
  const room = svg.viewBox.baseVal;
  const boxes = [...svg.querySelectorAll("text")].map((text) => {
    const { x, y, width, height } = text.getBBox();
    return { words: text.textContent, x, y, right: x + width, end: y + height };
  });
  const out = boxes.filter((b) => b.x < -1 || b.y < -3
    || b.right > room.width + 1 || b.end > room.height + 1);
  const upon = boxes.filter((a, i) => boxes.some((b, j) => i < j
    && a.x < b.right && b.x < a.right && a.y + 3 < b.end && b.y + 3 < a.end));
  return [...out, ...upon].map((b) => b.words);
})
"""
NAMES = (
    "Salt marsh at first light, seen from the sea wall " * 2,
    "W" * 90,
    "i" * 200,
    "שקיעה מעל הים " * 9,
)


def charts():
    """Draw what is most likely to collide: long names, and ranges of all sizes."""
    start = date(2025, 11, 3)
    for span in (0, 1, 2, 5, 13, 40, 100, 300, 700, 2000, 9000, 99_000):
        life = [(start, 12_345), (start + timedelta(span), 3)]
        yield stock_life(life, y_title=NAMES[0], caption="x")
    for size in (1e-9, 0.037, 1, 999, 54_321, 1e6, 7e11):
        amounts = [(size * at / 7, size) for at in range(1, 9)]
        yield line_with_band([], amounts, x_title=NAMES[0], y_title=NAMES[1], caption="x")
        yield bars(
            [(name, size * (at - 1)) for at, name in enumerate(NAMES)], title=NAMES[0], caption="x"
        )
        yield stacked_bars([("x", [size, -size] * 2)], parts=NAMES, title="USD", caption="x")
    paid = [(start + timedelta(at), f"{at} {NAMES[0]}", 4, 5) for at in range(20)]
    yield prices_over_time(paid, y_title="USD", caption="x", table=((), []))


@pytest.mark.parametrize("page", ["desktop"], indirect=True)
def test_no_label_leaves_its_picture_or_lies_upon_another(page):
    page.set_content("".join(chart.svg for chart in charts()))

    assert page.locator("svg").count() == 34
    assert page.evaluate(MEASURE) == []
