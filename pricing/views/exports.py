"""Everything that goes out as a file or comes in by one, on one page."""

import weakref
from tempfile import SpooledTemporaryFile
from typing import Any

from django import forms
from django.http import FileResponse, Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_safe

from inventory.stock.imports import SHEETS
from pricing.bench.pictures import space_of
from pricing.exports import LISTS, bring_in_later, export_studio, importing
from studio.access import member_page, require
from studio.background import made_beside
from studio.models import Studio
from studio.period_rows import period_of
from studio.periods import Period
from studio.requests import StudioRequest
from studio.sight import Sight
from studio.tables import FORMATS, Listing
from studio.views.form_page import form_page

IN_MEMORY = 50_000_000  # [bytes]
# From then on the worker does it, and the page shows how far it is.
LONG_LIST = 10_000  # [rows]
LONG_ARCHIVE, MANY_PICTURES = 5_000, 100  # [acts on the stock], [pictures]
LONG_FILE = 1_000_000  # [bytes]
LATER = "It is being brought in."


class ArchiveForm(forms.Form):
    """A whole studio as one file."""

    file = forms.FileField(
        label="Archive of a studio",
        help_text="The .zip file, as it was downloaded.",
        widget=forms.FileInput(attrs={"accept": ".zip"}),
    )


@require_safe
@member_page("viewer")
def in_and_out(request: StudioRequest) -> HttpResponse:
    """What can be brought in, and every list to take out."""

    def shown(sights: tuple[Sight, ...]) -> bool:
        return all(map(request.membership.sees, sights))

    context = {
        "sheets": [sheet for sheet in SHEETS.values() if shown(sheet.sights)],
        "lists": [one for one in LISTS.values() if shown(one.sights)],
        "period": period_of(request),
    }
    if request.membership.may("owner"):
        context["pictures"] = space_of(request.studio)
    return render(request, "pricing/in_and_out.html", context)


def _long_list(request: StudioRequest, name: str, extension: str) -> str:
    listing = LISTS.get(name)
    if listing is None or listing.count(request.studio, period_of(request)) <= LONG_LIST:
        return ""
    return f"{listing.title} as {extension.upper()}"


@require_safe
@member_page("viewer")
@made_beside(_long_list)
def list_file(request: StudioRequest, name: str, extension: str) -> HttpResponse:
    """One list as a file for a spreadsheet."""
    if name not in LISTS or extension not in FORMATS:
        raise Http404
    require(request.membership, *LISTS[name].sights)
    listing = LISTS[name].seen_by(request.membership)
    return list_answer(listing, request.studio, extension, period_of(request))


def _long_archive(request: StudioRequest) -> str:
    studio = request.studio
    is_long = studio.entries.count() > LONG_ARCHIVE or studio.pictures.count() > MANY_PICTURES
    return "The whole studio as an archive" if is_long else ""


@require_safe
@member_page("owner")
@made_beside(_long_archive)
def studio_archive(request: StudioRequest) -> HttpResponseBase:
    """The whole studio as one archive of tables."""
    return archive_answer(request.studio)


@member_page("owner")
def studio_restore(request: StudioRequest) -> HttpResponse:
    """Fill this studio, while it is empty, from an archive."""
    form = ArchiveForm(request.POST or None, request.FILES or None)
    sent = request.FILES.get("file")
    how: dict[str, Any] = (
        {
            "act": lambda data: bring_in_later(
                studio=request.studio, by=request.user, archive=data["file"]
            ),
            "done": lambda task: (LATER, reverse("background-task", args=[task.pk])),
        }
        if sent and (sent.size or 0) > LONG_FILE
        else {
            "prepare": lambda data: importing(request.studio, data["file"]),
            "act": lambda filled: filled.hand_over(),
            "done": lambda count: (f"The studio is here: {count:,} rows.", reverse("in-and-out")),
        }
    )
    return form_page(
        request,
        form,
        title="Bring in a whole studio",
        lead="Only into an empty studio. Its settings and all its rows come from the archive.",
        **how,
        button="Bring it in",
        back=reverse("in-and-out"),
        back_label="Import and export",
    )


def list_answer(listing: Listing, studio: Studio, extension: str, period: Period) -> HttpResponse:
    """Answer with a list, of a period where it is dated, as a file."""
    days = period.in_file_name if listing.dated_by else ""
    name = f'attachment; filename="{listing.name}{days}.{extension}"'
    return HttpResponse(
        listing.file(studio, extension, period),
        content_type=FORMATS[extension],
        headers={"Content-Disposition": name},
    )


def archive_answer(studio: Studio) -> FileResponse:
    """Answer with a whole studio as a file."""
    # With all pictures in it that may be more than belongs in memory.
    stream = SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - the answer closes it
    export_studio(studio, stream)
    stream.seek(0)
    name = f"studio-{studio.today().isoformat()}.zip"
    answer = FileResponse(stream, as_attachment=True, filename=name, content_type="application/zip")
    weakref.finalize(answer, stream.close)  # also where nobody reads it
    return answer


urlpatterns = [
    path("in-and-out/", in_and_out, name="in-and-out"),
    path("in-and-out/studio.zip", studio_archive, name="studio-archive"),
    path("in-and-out/studio/", studio_restore, name="studio-restore"),
    path("in-and-out/<slug:name>.<slug:extension>", list_file, name="list-file"),
]
