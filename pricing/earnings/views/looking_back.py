"""Looking back and ahead at profit: forecast against actual, and how many sets break even."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from pricing.costing.price import profit
from pricing.earnings.break_even import break_even
from pricing.earnings.hindsight import Hindsight, hindsight
from pricing.models import Channel
from studio.access import member_page
from studio.charts import Chart, bars
from studio.formfields import money_field
from studio.model_forms import own_choices
from studio.models import Studio
from studio.money import ZERO
from studio.requests import StudioRequest
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
@member_page("viewer")
def break_even_page(request: StudioRequest) -> HttpResponse:
    """Show how many of each product a month earn the fixed costs back."""
    asked = request.GET.copy()
    asked.setdefault("costs", f"{request.studio.monthly_costs.normalize():f}")
    form = BreakEvenForm(asked, studio=request.studio)
    context: dict[str, object] = {"form": form}
    if form.is_valid():
        data = form.cleaned_data
        context |= {
            "costs": data["costs"],
            "rows": break_even(request.studio, data["costs"], data["channel"]),
        }
    return render(request, "pricing/earnings/break_even.html", context)


@require_safe
@member_page("viewer")
def hindsight_page(request: StudioRequest) -> HttpResponse:
    """Show what each quote counted on beside what came of it."""
    rows = hindsight(request.studio)
    context = {
        "rows": rows,
        "forecast": sum((one.forecast for one in rows), profit(ZERO)),
        "actual": sum((one.actual for one in rows), profit(ZERO)),
        "chart": _chart(request.studio, rows) if rows else None,
        "parts": PARTS,
    }
    return render(request, "pricing/earnings/hindsight.html", context)


def _chart(studio: Studio, rows: Sequence[Hindsight]) -> Chart:
    return bars(
        [(one.commission.title, float(one.difference)) for one in rows[:12]],
        title=f"Profit beyond the forecast ({studio.currency})",
        caption="Profit beyond what was counted on, by commission",
        heading="Commission",
    )


@require_safe
@member_page("viewer")
def hindsight_csv(request: StudioRequest) -> HttpResponse:
    """The same rows as a file for a spreadsheet."""
    columns = [
        "commission",
        "title",
        *(f"{case}_{part}" for part in PARTS for case in ("forecast", "actual")),
    ]
    rows = [
        [one.commission.number, one.commission.title]
        + [getattr(sums, part) for part in PARTS for sums in (one.forecast, one.actual)]
        for one in hindsight(request.studio)
    ]
    return HttpResponse(
        csv_bytes(columns, rows),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": 'attachment; filename="forecast-and-actual.csv"'},
    )
