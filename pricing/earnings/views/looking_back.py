"""Looking back and ahead at profit: forecast against actual, and how many sets break even."""

from typing import Any

from django import forms
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from pricing.costing.asking import usual_channel
from pricing.earnings.break_even import break_even
from pricing.earnings.report import Comparison, compared
from pricing.earnings.where_it_went import forecast_beside_actual
from pricing.models import Channel
from studio.access import member_page
from studio.charts import Chart, bars
from studio.formfields import money_field
from studio.model_forms import own_choices
from studio.models import Studio
from studio.period_rows import period_of
from studio.requests import StudioRequest
from studio.sight import COSTS, PROFIT
from studio.tables import csv_bytes

PARTS = ("revenue", "tax", "fees", "materials", "labour", "overhead", "profit", "minutes")


class BreakEvenForm(forms.Form):
    """Read from the address: what a month costs, and where things would be sold."""

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["costs"] = money_field(
            studio, label="Fixed costs of a month", hint="Rent, insurance, power and the like."
        )
        self.fields["channel"] = forms.ModelChoiceField(
            own_choices(Channel.objects.all(), studio),
            required=False,
            label="Sold through",
            empty_label="Straight from the studio",
        )


@require_safe
@member_page("viewer", COSTS, PROFIT)
def break_even_page(request: StudioRequest) -> HttpResponse:
    """Show how many of each product a month earn the fixed costs back."""
    query = request.GET.copy()
    query.setdefault("costs", f"{request.studio.monthly_costs.normalize():f}")
    usual = usual_channel(request.studio)
    query.setdefault("channel", str(usual.pk) if usual else "")
    form = BreakEvenForm(query, studio=request.studio)
    context: dict[str, object] = {"form": form}
    if form.is_valid():
        data = form.cleaned_data
        rows = break_even(request.studio, data["costs"], data["channel"])
        guesses = dict.fromkeys(row.guess for row in rows if row.guess)
        context |= {"costs": data["costs"], "rows": rows, "guesses": list(guesses)}
    return render(request, "pricing/earnings/break_even.html", context)


@require_safe
@member_page("viewer", PROFIT)
def hindsight_page(request: StudioRequest) -> HttpResponse:
    """Show what each quote counted on beside what came of it."""
    period = period_of(request)
    tables = [
        (one, _chart(one), forecast_beside_actual(one.rows))
        for one in compared(request.studio, period)
    ]
    context = {"tables": tables, "period": period}
    return render(request, "pricing/earnings/hindsight.html", context)


@require_safe
@member_page("viewer", PROFIT)
def hindsight_of_one(request: StudioRequest, number: int) -> HttpResponse:
    """Show where the money of one commission was to go, beside where it went."""
    tables = compared(request.studio, number=number)
    if not tables:
        raise Http404
    (table,) = tables
    (one,) = table.rows
    context = {"one": one, "table": table, "beside": forecast_beside_actual([one])}
    return render(request, "pricing/earnings/hindsight_of_one.html", context)


def _chart(table: Comparison) -> Chart:
    return bars(
        [(one.commission.title, float(one.difference)) for one in table.rows[:12]],
        title=f"Profit beyond the forecast ({table.currency})",
        caption="Profit beyond what was counted on, by commission",
        heading="Commission",
    )


@require_safe
@member_page("viewer", PROFIT)
def hindsight_csv(request: StudioRequest) -> HttpResponse:
    """The same rows as a file for a spreadsheet."""
    columns = [
        "commission",
        "title",
        "currency",
        *(f"{case}_{part}" for part in PARTS for case in ("forecast", "actual")),
    ]
    period = period_of(request)
    rows = [
        [one.commission.number, one.commission.title, one.currency]
        + [getattr(sums, part) for part in PARTS for sums in (one.forecast, one.actual)]
        for table in compared(request.studio, period)
        for one in table.rows
    ]
    name = f"forecast-and-actual{period.in_file_name}.csv"
    return HttpResponse(
        csv_bytes(columns, rows),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
