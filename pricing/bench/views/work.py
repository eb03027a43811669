"""The day's work: what to pour, coat, pack and hand over."""

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from pricing.bench.work import Session, WorkJob, work_list
from pricing.bench.work.papers import work_pdf
from studio.access import member_page
from studio.errors import StudioError
from studio.pdf import pdf_response
from studio.requests import StudioRequest


@require_safe
@member_page("viewer")
def work(request: StudioRequest) -> HttpResponse:
    """Show what is to be done now for accepted commissions, grouped by what is mixed together."""
    try:
        day_work = work_list(request.studio)
    except StudioError as error:
        return render(request, "pricing/bench/work.html", {"problem": str(error)})
    sessions = [
        (one, _mixing_url(one), [(job, _pour_url(job)) for job in one.jobs])
        for one in day_work.sessions
    ]
    return render(request, "pricing/bench/work.html", {"work": day_work, "sessions": sessions})


@require_safe
@member_page("viewer")
def work_sheet(request: StudioRequest) -> HttpResponse:
    """The same as a PDF to hang at the bench."""
    return pdf_response(work_pdf(request.studio, work_list(request.studio)), "work.pdf")


def _mixing_url(session: Session) -> str:
    fields: dict[str, list[int] | int] = {
        "commission": session.commissions,
        "palette": session.palette.pk,
    }
    return f"{reverse('mixing')}?{urlencode(fields, doseq=True)}"


def _pour_url(job: WorkJob) -> str:
    """Return the pour form with a line's pieces and its part of the cups filled in."""
    fields: dict[str, str | int] = {"line": job.line.pk, "count": job.count, **job.log}
    return f"{reverse('pour-new')}?{urlencode(fields)}"
