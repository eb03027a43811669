"""Stock at the lower of cost and what it would bring: a report, and appraisals by hand."""

from datetime import date

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe

from pricing.earnings.appraisals import appraise, withdraw_appraisal
from pricing.earnings.forms.valuation import AppraisalForm
from pricing.earnings.valuation import shown_valuation, valuation
from pricing.earnings.valuation_files import valuation_pdf, valuation_table
from studio.access import member_page
from studio.models import Studio
from studio.pdf import pdf_response
from studio.period_rows import past_day_of
from studio.requests import StudioRequest
from studio.sight import COSTS
from studio.tables import FORMATS
from studio.views.form_page import action, form_page

NAME = "stock-value"


@require_safe
@member_page("viewer", COSTS)
def valuation_page(request: StudioRequest) -> HttpResponse:
    """Show what is on hand at the lower of cost and what it would bring; it posts nothing.

    Of a past day, what was on hand at its end.
    """
    day = past_day_of(request)
    report = shown_valuation(valuation(request.studio, day), request.studio.currency)
    appraisals = request.studio.appraisals.filter(withdrawn_at=None)
    context = {
        "found": report,
        "day": day,
        "appraisals": appraisals.select_related("material", "bottle__material", "piece_set"),
    }
    return render(request, "pricing/earnings/valuation.html", context)


@require_safe
@member_page("viewer", COSTS)
def valuation_file(request: StudioRequest, extension: str) -> HttpResponse:
    """The report as a file for a spreadsheet."""
    if extension not in FORMATS:
        raise Http404
    return file_answer(request.studio, extension, past_day_of(request))


@require_safe
@member_page("viewer", COSTS)
def valuation_sheet(request: StudioRequest) -> HttpResponse:
    """The report on paper."""
    return sheet_answer(request.studio, past_day_of(request))


def sheet_answer(studio: Studio, day: date | None) -> HttpResponse:
    """Answer with the report on paper, of a past day or of now."""
    return pdf_response(valuation_pdf(studio, valuation(studio, day)), f"{_name(day)}.pdf")


def file_answer(studio: Studio, extension: str, day: date | None) -> HttpResponse:
    """Answer with the report as a table, of a past day or of now."""
    return HttpResponse(
        valuation_table(studio, valuation(studio, day), extension),
        content_type=FORMATS[extension],
        headers={"Content-Disposition": f'attachment; filename="{_name(day)}.{extension}"'},
    )


def _name(day: date | None) -> str:
    return f"{NAME}-{day}" if day else NAME


@member_page("owner")
def appraisal_new(request: StudioRequest) -> HttpResponse:
    """Note what a material, a bottle or a set on hand would bring."""
    here = reverse("valuation")
    return form_page(
        request,
        form := AppraisalForm(request.POST or None, studio=request.studio, chosen=request.GET),
        title="Set a value by hand",
        lead="What all of it would bring as it is, after what selling it costs.",
        act=lambda data: appraise(
            studio=request.studio,
            by=request.user,
            thing=form.thing,
            value=data["value"],
            reason=data["reason"],
            day=data["day"],
        ),
        done=lambda appraisal: (f"{appraisal.thing} is valued by hand.", here),
        back=here,
        back_label="Stock value",
    )


@require_POST
@member_page("owner")
def appraisal_withdraw(request: StudioRequest, pk: int) -> HttpResponse:
    """Take an appraisal back."""
    appraisal = get_object_or_404(request.studio.appraisals, pk=pk)
    here = reverse("valuation")
    return action(
        request,
        lambda: withdraw_appraisal(appraisal=appraisal),
        lambda _: ("The value is withdrawn.", here),
        back=here,
    )


urlpatterns = [
    path("valuation/", valuation_page, name="valuation"),
    path("valuation/appraise/", appraisal_new, name="appraisal-new"),
    path("valuation/appraisals/<int:pk>/withdraw/", appraisal_withdraw, name="appraisal-withdraw"),
    path("valuation/sheet.pdf", valuation_sheet, name="valuation-sheet"),
    path("valuation/rows.<slug:extension>", valuation_file, name="valuation-file"),
]
