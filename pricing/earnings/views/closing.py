"""Closing months, and the files of each that go to the bookkeeper."""

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.views.decorators.http import require_safe

from pricing.earnings.closing import close_months
from pricing.earnings.forms.closing import ClosingForm
from pricing.earnings.valuation_files import SHEET, table_as_given
from studio.access import member_page
from studio.closing import reopen_months
from studio.forms import WhyForm
from studio.models import Closing
from studio.requests import StudioRequest
from studio.tables import FORMATS
from studio.views.form_page import form_page

# The lists that a bookkeeper is given of a month, beside what was earned and lost in it.
LISTS = ("sales", "refunds", "payments", "invoices", "deliveries", "ledger")
EXTENSION = next(iter(FORMATS))


def files_of(closing: Closing) -> list[tuple[str, str]]:
    """Return the files of the last month of a closing, as (what it is called, its address)."""
    days = f"?from={closing.up_to.replace(day=1)}&to={closing.up_to}"
    names = [(name.capitalize(), reverse("list-file", args=[name, EXTENSION])) for name in LISTS]
    profit = ("Profit and losses", reverse("profit-csv"))
    stock = (SHEET, reverse("closing-stock", args=[closing.pk, EXTENSION]))
    return [*((name, address + days) for name, address in (profit, *names)), stock]


@member_page("owner")
def closing_page(request: StudioRequest) -> HttpResponse:
    """Close months, one after the other, and see which were closed or opened again, and by whom."""
    studio, here = request.studio, reverse("closing")
    rows = studio.closings.select_related("by", "reopens", "reopened_by").defer("stock_value")
    last = studio.closings.standing().first()
    return form_page(
        request,
        form := ClosingForm(request.POST or None, studio=studio),
        title="Closing months",
        act=lambda data: close_months(studio=studio, by=request.user, up_to=data["up_to"]),
        done=lambda closing: (f"All is closed up to the end of {closing.month}.", here),
        template="pricing/earnings/closing.html",
        button="Close",
        months=form.months,
        last=last,
        rows=[(row, () if row.reopens_id else files_of(row)) for row in rows],
    )


@member_page("owner")
def closing_reopen(request: StudioRequest, pk: int) -> HttpResponse:
    """Open again what the last closing closed."""
    closing = get_object_or_404(request.studio.closings, pk=pk)
    here = reverse("closing")
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Open {closing.month} again",
        lead="Acts of its days are booked in it again from now on, so that it may come to differ "
        "from what your bookkeeper has. What was booked later meanwhile stays where it is.",
        act=lambda data: reopen_months(closing=closing, by=request.user, why=data["why"]),
        done=lambda opened: (f"{opened.month} is open again. Tell your bookkeeper.", here),
        button="Open it again",
        is_danger=True,
        back=here,
        back_label="Closing months",
    )


@require_safe
@member_page("owner")
def closing_stock(request: StudioRequest, pk: int, extension: str) -> HttpResponse:
    """What stock was worth at the end of a closed month, as it was given when that was closed."""
    if extension not in FORMATS:
        raise Http404
    closing = get_object_or_404(request.studio.closings.filter(reopens=None), pk=pk)
    return stock_answer(closing, extension)


def stock_answer(closing: Closing, extension: str) -> HttpResponse:
    """Answer with the table of what stock was worth that was kept with a closing."""
    name = f"stock-value-{closing.up_to}.{extension}"
    return HttpResponse(
        table_as_given(closing.stock_value, extension),
        content_type=FORMATS[extension],
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


urlpatterns = [
    path("profit/closing/", closing_page, name="closing"),
    path(
        "profit/closing/<int:pk>/stock-value.<slug:extension>", closing_stock, name="closing-stock"
    ),
    path("profit/closing/<int:pk>/reopen/", closing_reopen, name="closing-reopen"),
]
