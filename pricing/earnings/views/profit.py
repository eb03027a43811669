"""What sales earned, one by one and in all."""

from collections.abc import Iterable

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from pricing.earnings import profit as earnings
from pricing.selling.views.selling import asked_sale
from studio.access import member_page
from studio.charts import Chart, stacked_bars
from studio.models import Studio
from studio.money import minor_places
from studio.requests import StudioRequest
from studio.tables import csv_bytes

PARTS = ("profit", "materials", "labour", "overhead", "fees", "tax")
PROFIT_COLUMNS = (
    *("set", "sold_on", "size", "technique", "palette", "channel", "customer", "pieces"),
    *("revenue", "tax", "fees", "materials", "labour", "overhead", "profit", "minutes"),
)


@require_safe
@member_page("viewer")
def sale(request: StudioRequest, number: int) -> HttpResponse:
    """Show one sale and what each of its sets earned."""
    found = asked_sale(request, number)
    rows = [row for row in earnings.set_profit(request.studio) if row.sale.pk == found.pk]
    context = {"sale": found, "rows": rows, "total": earnings.total(rows)}
    return render(request, "pricing/earnings/sale.html", context)


def _cut(request: StudioRequest) -> str:
    asked = request.GET.get("by", "size")
    return asked if asked in earnings.CUTS else "size"


@require_safe
@member_page("viewer")
def profit(request: StudioRequest) -> HttpResponse:
    """Show what was earned: per set sold, and cut by size, technique, channel and more."""
    by, rows = _cut(request), earnings.set_profit(request.studio)
    cuts = earnings.cut(rows, by)
    context = {
        "rows": Paginator(rows, 50).get_page(request.GET.get("page")),
        "cuts": cuts,
        "by": by,
        "choices": earnings.CUTS,
        "total": earnings.total(rows),
        "whereabouts": earnings.whereabouts(request.studio),
        "chart": _chart(request.studio, cuts, by) if cuts else None,
    }
    return render(request, "pricing/earnings/profit.html", context)


def _chart(studio: Studio, cuts: Iterable[earnings.Cut], by: str) -> Chart:
    places = minor_places(studio.currency)
    return stacked_bars(
        [
            (one.label or "not noted", [round(getattr(one.profit, part), places) for part in PARTS])
            for one in cuts
        ],
        parts=[part.capitalize() for part in PARTS],
        title=studio.currency,
        caption=f"Profit by {by}, and what else the revenue went on; a loss points left",
        heading=by.capitalize(),
    )


@require_safe
@member_page("viewer")
def profit_csv(request: StudioRequest) -> HttpResponse:
    """The same rows as a file for a spreadsheet."""
    rows = []
    for row in earnings.set_profit(request.studio):
        sums = row.profit
        words = (row.piece_set, row.sold_on, row.size, row.technique, row.palette, row.channel)
        rows.append(
            [str(word) for word in (*words, row.customer)]
            + [row.pieces, sums.revenue, sums.tax, sums.fees, sums.materials]
            + [sums.labour, sums.overhead, sums.profit, sums.minutes]
        )
    return HttpResponse(
        csv_bytes(PROFIT_COLUMNS, rows),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": 'attachment; filename="profit.csv"'},
    )
