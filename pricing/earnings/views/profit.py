"""What sales earned, one by one and in all."""

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from pricing.earnings import profit as earnings
from pricing.earnings.report import CurrencyReport, reports, shown_rows, shown_total
from pricing.models import Posting
from pricing.readiness.asking import gone_on_of
from pricing.readiness.fitting import words_of_sets
from pricing.selling.views.selling import sale_or_404, sets_with_seconds
from studio.access import member_page
from studio.charts import Chart, stacked_bars
from studio.period_rows import period_of
from studio.requests import StudioRequest
from studio.sight import PRICES, PROFIT
from studio.tables import csv_bytes

PARTS = ("profit", "materials", "labour", "overhead", "fees", "tax")
PROFIT_COLUMNS = (
    *("set", "what", "day", "currency", "size", "technique", "palette", "channel", "customer"),
    *("pieces", "revenue", "tax", "fees", "materials", "labour", "overhead", "profit", "minutes"),
)


@require_safe
@member_page("viewer", PRICES)
def sale(request: StudioRequest, number: int) -> HttpResponse:
    """Show one sale and what each of its sets earned."""
    sale_row = sale_or_404(request, number)
    rows = earnings.of_sale(sale_row)
    context = {
        "sale": sale_row,
        "rows": shown_rows(rows),
        "total": shown_total(rows),
        "seconds": sets_with_seconds([sale_row]),
        "gone_on": gone_on_of(sale_row),
        "care": words_of_sets(line.piece_set for line in sale_row.lines.all()),
    }
    return render(request, "pricing/earnings/sale.html", context)


def _cut(request: StudioRequest) -> str:
    by = request.GET.get("by", "size")
    return by if by in earnings.CUTS else "size"


@require_safe
@member_page("viewer", PROFIT)
def profit(request: StudioRequest) -> HttpResponse:
    """Show what was earned: per set sold, and cut by size, technique, channel and more."""
    by, period = _cut(request), period_of(request, "this-year")
    found = reports(request.studio, by, period)
    rows = sorted((row for one in found for row in one.rows), key=_newest, reverse=True)
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    on_page = earnings.of_currencies(page.object_list, request.studio.currency)
    context = {
        "page": page,
        "reports": [(one, _chart(one, by), on_page.get(one.currency)) for one in found],
        "by": by,
        "period": period,
        "choices": earnings.CUTS,
        "whereabouts": earnings.whereabouts(request.studio),
    }
    return render(request, "pricing/earnings/profit.html", context)


def _newest(row: earnings.SetProfit) -> tuple[object, ...]:
    return row.day, row.sale.number, row.is_refund


def _chart(report: CurrencyReport, by: str) -> Chart | None:
    if not report.cuts:
        return None
    return stacked_bars(
        [
            (one.label or "not noted", [getattr(one.profit, part) for part in PARTS])
            for one in report.cuts
        ],
        parts=[part.capitalize() for part in PARTS],
        title=report.currency,
        caption=f"Profit by {by}, and what else the revenue went on; a loss points left",
        heading=by.capitalize(),
    )


@require_safe
@member_page("viewer", PROFIT)
def profit_csv(request: StudioRequest) -> HttpResponse:
    """The same rows as a file for a spreadsheet."""
    rows = []
    period = period_of(request)
    for report in reports(request.studio, period=period):
        for row in report.rows:
            sums = row.profit
            what = Posting.Kind(row.kind).label.lower()
            words = (row.piece_set, what, row.day, row.currency, row.size, row.technique)
            rows.append(
                [str(word) for word in (*words, row.palette, row.channel, row.customer)]
                + [row.pieces, sums.revenue, sums.tax, sums.fees, sums.materials]
                + [sums.labour, sums.overhead, sums.profit, sums.minutes]
            )
        for one in report.lost:
            cost = one.cost
            sums_lost = [cost.materials, cost.labour, cost.overhead, -cost.total, cost.minutes]
            rows.append(["", "lost", "", report.currency, one.label, *[""] * 8, *sums_lost])
    return HttpResponse(
        csv_bytes(PROFIT_COLUMNS, rows),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="profit{period.in_file_name}.csv"'},
    )
