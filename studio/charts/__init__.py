"""Numbers to SVG that stands in a page under the strict policy and in a PDF alike.

Everything is drawn in ``currentColor`` with presentation attributes, so that it follows light, dark
and print; what differs, differs in form: solid, tinted, hatched, outlined, dashed, dotted. A chart
comes with its numbers as rows, because a picture alone is not for everybody. Amounts that are no
finite numbers, and bars beyond the first thirty, are left to those rows.
"""

from studio.charts.drawing import Chart
from studio.charts.lines import line_with_band, prices_over_time, stock_life
from studio.charts.rows import bars, cut_bars, stacked_bars, stock_bar, strip

__all__ = [
    "Chart",
    "bars",
    "cut_bars",
    "line_with_band",
    "prices_over_time",
    "stacked_bars",
    "stock_bar",
    "stock_life",
    "strip",
]
