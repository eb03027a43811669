"""Shelf counts: started, walked through bottle by bottle, finished, and what they found."""

from typing import Any

from django import forms
from django.db.models import Count, Q
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe

from inventory.errors import SurprisingCount
from inventory.models import Bottle, Material, ShelfCount, ShelfCountLine
from inventory.stock import counts, papers
from inventory.stock.counts import CountReport
from inventory.stock.counts.report import report_file
from inventory.stock.forms.counts import CountedForm, LeaveOutForm, PutBackForm, StartCountForm
from inventory.stock.views.bottle_acts import missing_to_weigh
from inventory.words import amount
from studio.access import member_page
from studio.models import Membership, Studio
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.sight import seen_by
from studio.tables import FORMATS
from studio.views.form_page import action, form_page
from studio.views.lists import period_page


def count_of(request: StudioRequest, number: int) -> ShelfCount:
    """Return the studio's count with this number, or answer 404."""
    rows = request.studio.shelf_counts.select_related("studio", "started_by", "ended_by")
    return get_object_or_404(rows, number=number)


def _page(count: ShelfCount, name: str = "count") -> str:
    return reverse(name, args=[count.number])


@require_safe
@member_page("viewer")
def count_list(request: StudioRequest) -> HttpResponse:
    """List the counts, newest first."""
    live = Q(lines__undone_at=None)
    rows = request.studio.shelf_counts.select_related("started_by").annotate(
        total=Count("lines", filter=live), done=Count("lines", filter=live & ~Q(lines__at=None))
    )
    rows = rows.order_by("-number")  # a grouped query forgets the model's order
    context = period_page(request, rows, "started_at")
    return render(request, "inventory/stock/counts.html", context)


@member_page("maker")
def start(request: StudioRequest) -> HttpResponse:
    """Start a count."""
    return form_page(
        request,
        StartCountForm(request.POST or None, studio=request.studio),
        title="Start a shelf count",
        lead="Walk along the shelf and weigh one bottle after another. Each is set at once.",
        act=lambda data: counts.start_count(studio=request.studio, by=request.user, **data),
        done=lambda new_count: (f"{new_count} is open.", _page(new_count)),
        button="Start",
        back=reverse("counts"),
        back_label="Shelf counts",
    )


@require_safe
@member_page("viewer")
def count(request: StudioRequest, number: int) -> HttpResponse:
    """Show how far a count is and what is left of it."""
    count = count_of(request, number)
    if not count.is_open:
        return redirect("count-report", number)
    context = {
        "count": count,
        "progress": counts.progress(count),
        "waiting": count.lines.waiting().select_related("bottle__material"),
        "missed": counts.missed(count),
    }
    return render(request, "inventory/stock/count.html", context)


@member_page("maker")
def weigh(request: StudioRequest, number: int) -> HttpResponse:
    """Weigh or count one bottle of a count: the one whose code is given, or the next."""
    count = count_of(request, number)
    if not count.is_open:
        return redirect("count-report", number)
    typed = (request.POST.get("code") or request.GET.get("code", "")).strip()
    position = request.GET.get("after", "")
    after = (
        int(position) if position.isascii() and position.isdecimal() and len(position) < 10 else 0
    )
    line = None if typed else counts.next_line(count, after)
    bottle = line.bottle if line else _bottle(request.studio, typed)
    progress = counts.progress(count)
    if bottle is None:
        context = {"count": count, "typed": typed, "progress": progress}
        status = 404 if typed else 200
        return render(request, "inventory/stock/count_no_bottle.html", context, status=status)
    line = line or count.lines.live().select_related("by").filter(bottle=bottle).first()
    unknown = missing_to_weigh(bottle)
    on_scale = not unknown and request.GET.get("how") != "measure"
    form = CountedForm(
        request.POST or None, studio=request.studio, bottle=bottle, on_scale=on_scale
    )
    return form_page(
        request,
        form,
        template="inventory/stock/count_weigh.html",
        title=f"{bottle.code} {bottle.material}",
        act=lambda data: _record(form, count=count, by=request.user, bottle=bottle, **data),
        done=lambda line_done: (
            _said(line_done),
            f"{_page(count, 'count-weigh')}?after={line_done.position}",
        ),
        button="Set and go on",
        unknown="" if bottle.material.unit == Material.Unit.EACH else unknown,
        can_weigh=not unknown,
        count=count,
        bottle=bottle,
        line=line,
        progress=progress,
    )


def _bottle(studio: Studio, typed: str) -> Bottle | None:
    """Return the bottle that was typed: by its code, or by the figures of a numbered one."""
    bottles = studio.bottles.select_related("material")
    condition = Q(code__iexact=typed)
    if typed.isascii() and typed.isdecimal() and len(typed) < 10:
        condition |= Q(code=f"B{int(typed):04}")
    return bottles.filter(condition).order_by("code").first() if typed else None


def _record(form: CountedForm, **fields: Any) -> ShelfCountLine:
    try:
        return counts.record(confirmed=form.is_confirmed, **fields)
    except SurprisingCount as question:
        form.surprise = question
        raise


def _said(line: ShelfCountLine) -> str:
    bottle = line.bottle
    counted, expected = (
        amount(bottle.material, quantity) if quantity else "nothing"
        for quantity in (line.counted, line.expected)
    )
    if line.counted == line.expected:
        return f"{bottle}: {counted}, as the books said."
    return f"{bottle}: {counted}. The books said {expected}."


def _line(request: StudioRequest, number: int, code: str) -> tuple[ShelfCount, ShelfCountLine]:
    """Return a count and the bottle of one of its lines."""
    count = count_of(request, number)
    lines = count.lines.live().select_related("bottle__material")
    return count, get_object_or_404(lines, bottle__code__iexact=code)


@member_page("maker")
def leave_out(request: StudioRequest, number: int, code: str) -> HttpResponse:
    """Leave a bottle out, with the reason."""
    count, line = _line(request, number, code)
    return form_page(
        request,
        LeaveOutForm(request.POST or None),
        title=f"Leave out {line.bottle}",
        lead="It stays on the list with the reason, and the books stay as they are.",
        act=lambda data: counts.leave_out(count=count, by=request.user, bottle=line.bottle, **data),
        done=lambda line_done: (
            f"{line.bottle} is left out.",
            f"{_page(count, 'count-weigh')}?after={line_done.position}",
        ),
        button="Leave it out",
        back=f"{_page(count, 'count-weigh')}?code={line.bottle.code}",
        back_label=line.bottle.code,
    )


@member_page("maker")
def put_back(request: StudioRequest, number: int, code: str) -> HttpResponse:
    """Let a bottle be weighed again; what was posted is undone."""
    count, line = _line(request, number, code)
    back = f"{_page(count, 'count-weigh')}?code={line.bottle.code}"
    return form_page(
        request,
        PutBackForm(request.POST or None),
        title=f"Put {line.bottle} back",
        lead="What was set is undone, and it waits to be weighed again. Both stay on record.",
        act=lambda data: counts.put_back(count=count, by=request.user, bottle=line.bottle, **data),
        done=lambda line_done: (f"{line.bottle} waits to be weighed again.", back),
        button="Put it back",
        back=back,
        back_label=line.bottle.code,
    )


@require_POST
@member_page("maker")
def finish(request: StudioRequest, number: int) -> HttpResponse:
    """Finish a count, once nothing waits."""
    count = count_of(request, number)
    return action(
        request,
        lambda: counts.finish_count(count=count, by=request.user),
        lambda over: (f"{over} is finished.", _page(over, "count-report")),
        back=_page(count),
    )


@member_page("maker")
def cancel(request: StudioRequest, number: int) -> HttpResponse:
    """Break a count off."""
    count = count_of(request, number)
    so_far = counts.progress(count)
    stays = "Nothing was weighed yet."
    if weighed := so_far.done - so_far.left_out:
        stays = (
            "The bottle that was weighed or counted so far stays as it was set."
            if weighed == 1
            else f"The {weighed} bottles that were weighed or counted so far stay as they were set."
        )
    return form_page(
        request,
        forms.Form(request.POST if request.method == "POST" else None),
        template="inventory/stock/count_cancel.html",
        title=f"Cancel {str(count).lower()}",
        lead=f"{stays} What is left is not counted.",
        act=lambda _: counts.cancel_count(count=count, by=request.user),
        done=lambda over: (f"{over} is cancelled. {stays}", _page(over, "count-report")),
        button="Cancel the count",
        back=_page(count),
        back_label=str(count),
    )


@require_safe
@member_page("viewer")
def report(request: StudioRequest, number: int) -> HttpResponse:
    """Show what a count found, so far or in the end."""
    count = count_of(request, number)
    context = {"count": count, "report": counts.report(count)}
    return render(request, "inventory/stock/count_report.html", context)


@require_safe
@member_page("viewer")
def report_as(request: StudioRequest, number: int, extension: str) -> HttpResponse:
    """The report as a PDF, or as a file for a spreadsheet."""
    count = count_of(request, number)
    if extension != "pdf" and extension not in FORMATS:
        raise Http404
    return report_answer(request.membership, counts.report(count), extension)


def report_answer(membership: Membership, report: CountReport, extension: str) -> HttpResponse:
    """Answer with a report as a file, of which there stands in it what this member sees."""
    name = f"shelf-count-{report.count.number}.{extension}"
    if extension == "pdf":
        return pdf_response(papers.count_report(report, seen_by(membership)), name)
    return HttpResponse(
        report_file(report, extension, seen_by(membership)),
        content_type=FORMATS[extension],
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


ONE = "counts/<int:number>/"
BOTTLE = f"{ONE}bottles/<slug:code>/"
urlpatterns = [
    path("counts/", count_list, name="counts"),
    path("counts/new/", start, name="count-new"),
    path(ONE, count, name="count"),
    path(f"{ONE}weigh/", weigh, name="count-weigh"),
    path(f"{BOTTLE}leave-out/", leave_out, name="count-leave-out"),
    path(f"{BOTTLE}put-back/", put_back, name="count-put-back"),
    path(f"{ONE}finish/", finish, name="count-finish"),
    path(f"{ONE}cancel/", cancel, name="count-cancel"),
    path(f"{ONE}report/", report, name="count-report"),
    path(f"{ONE}report.<slug:extension>", report_as, name="count-report-file"),
]
