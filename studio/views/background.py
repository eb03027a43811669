"""What is done beside the pages: what somebody asked for, what waits, what could not be done."""

from django.conf import settings
from django.contrib import messages
from django.core.files.storage import default_storage
from django.db.models import QuerySet
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from studio import jobs, outbox
from studio.access import member_page
from studio.background import KEPT
from studio.backups.making import standing
from studio.models import BackgroundTask
from studio.requests import StudioRequest

MOST = 50


@member_page("viewer")
@require_safe
def background(request: StudioRequest) -> HttpResponse:
    """List what a member asked for; to an owner also what waits and what failed."""
    context: dict[str, object] = {"tasks": _theirs(request)[:MOST], "kept_days": KEPT.days}
    if request.membership.may("owner"):
        mails = request.studio.mails.all()
        context |= {
            "jobs": jobs.standing(request.studio.pk),
            "backups": standing(),
            "sends_mail": settings.SENDS_MAIL,
            "unsent": list(outbox.unsent(mails)[:MOST]),
        }
    return render(request, "studio/background.html", context)


@member_page("viewer")
@require_safe
def task_page(request: StudioRequest, pk: int) -> HttpResponse:
    """Tell how far something is, anew each second until it has ended."""
    task = get_object_or_404(_theirs(request), pk=pk)
    part = "studio/_background_task.html"
    page = part if request.htmx else "studio/background_task.html"
    context = {"task": task, "is_late": task.ended_at is None and jobs.is_late()}
    return render(request, page, context)


@member_page("viewer")
@require_safe
def task_file(request: StudioRequest, pk: int) -> FileResponse:
    """Answer with a file that was made."""
    task = get_object_or_404(_theirs(request), pk=pk)
    if not (task.file.name and default_storage.exists(task.file.name)):
        raise Http404("The file is not kept any more. Ask for it again.")
    return FileResponse(task.file.open("rb"), as_attachment=True, filename=task.file_name)


@member_page("owner")
@require_POST
def try_mail_again(request: StudioRequest, pk: int) -> HttpResponse:
    """Have a mail sent as soon as can be."""
    outbox.try_again(mail=get_object_or_404(request.studio.mails, pk=pk))
    messages.success(request, "It is tried again now.")
    return redirect("background")


@member_page("owner")
@require_POST
def throw_mail_away(request: StudioRequest, pk: int) -> HttpResponse:
    """Give up a mail that was not sent."""
    outbox.throw_away(mail=get_object_or_404(request.studio.mails, pk=pk))
    messages.success(request, "The mail will not be sent.")
    return redirect("background")


@member_page("owner")
@require_POST
def try_job_again(request: StudioRequest, key: str) -> HttpResponse:
    """Put a job that failed in line again."""
    jobs.try_again(key=key, studio_id=request.studio.pk)
    messages.success(request, "It is tried again now.")
    return redirect("background")


def _theirs(request: StudioRequest) -> "QuerySet[BackgroundTask]":
    return request.studio.background_tasks.filter(by=request.user)
