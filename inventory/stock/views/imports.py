"""Bringing files in: choose one, see what becomes of each row, then all of it or nothing."""

import base64
import binascii
from contextlib import nullcontext
from functools import cache
from typing import Any

from django import forms
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_safe

from inventory.stock import imports
from inventory.stock.imports import SHEETS, ImportSheet, Preview
from inventory.stock.imports.later import LONG, bring_in_later, said_of
from studio.access import member_page, require
from studio.errors import StudioError
from studio.models import BackgroundTask
from studio.requests import StudioRequest
from studio.tables import FORMATS, Limits, TableError
from studio.text import shortened
from studio.views.form_page import form_page, new_token


class FileForm(forms.Form):
    """A table to bring in."""

    file = forms.FileField(
        label="File",
        help_text="CSV or XLSX, up to 2 MB and 2,000 rows.",
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx"}),
    )


class ShownForm(forms.Form):
    """A file that was shown row by row: its bytes and its name, and the digest of what was shown.

    The page carries them, so that nothing waits on one machine for a second request.
    """

    kept = forms.CharField(max_length=4_000_000, widget=forms.HiddenInput)
    name = forms.CharField(max_length=120, required=False, widget=forms.HiddenInput)
    shown = forms.CharField(max_length=64, widget=forms.HiddenInput)


def _sheet(kind: str) -> ImportSheet:
    if kind not in SHEETS:
        raise Http404
    return SHEETS[kind]


@member_page("maker")
def bring_in(request: StudioRequest, kind: str) -> HttpResponse:
    """Choose a file of one kind; see it; bring it in."""
    sheet = _sheet(kind)
    require(request.membership, *sheet.sights)
    if "kept" in request.POST:
        return _bring_in(request, sheet)
    form = FileForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        body = file.read(Limits().body + 1)
        try:
            preview = imports.preview(studio=request.studio, sheet=sheet, body=body)
        except StudioError as error:
            form.add_error("file", str(error))
        else:
            return _shown(request, sheet, preview, body, file.name)
    context = {"sheet": sheet, "form": form, "back": reverse("in-and-out")}
    return render(
        request, "inventory/stock/import.html", context, status=422 if form.is_bound else 200
    )


def _shown(
    request: StudioRequest, sheet: ImportSheet, preview: Preview, body: bytes, name: str
) -> HttpResponse:
    encoded = base64.urlsafe_b64encode(body).decode()
    form = ShownForm(
        initial={"kept": encoded, "name": shortened(name, 120), "shown": preview.digest}
    )
    context = {
        "sheet": sheet,
        "form": form,
        "title": f"{sheet.title}: what would change",
        "preview": preview,
        "once": new_token(),
        "back": reverse("import", args=[sheet.name]),
    }
    return render(request, "inventory/stock/import_shown.html", context)


def _bring_in(request: StudioRequest, sheet: ImportSheet) -> HttpResponse:
    form = ShownForm(request.POST)
    try:
        body = base64.urlsafe_b64decode(request.POST["kept"])
    except (binascii.Error, ValueError) as error:
        raise TableError("The file did not come through whole. Choose it again.") from error

    @cache
    def preview() -> Preview:
        return imports.preview(studio=request.studio, sheet=sheet, body=body)

    def agreed() -> dict[str, Any]:
        by = {"studio": request.studio, "by": request.user}
        return by | {"digest": form.cleaned_data["shown"], "file_name": form.cleaned_data["name"]}

    def later(data: dict[str, Any]) -> BackgroundTask:
        return bring_in_later(**agreed(), sheet=sheet, body=body)

    how: dict[str, Any] = (
        {
            "act": later,
            "done": lambda task: (
                f"{sheet.title} are being brought in.",
                reverse("background-task", args=[task.pk]),
            ),
        }
        if len(body) > LONG
        else {
            "prepare": lambda data: nullcontext(
                imports.made_ready(studio=request.studio, sheet=sheet, body=body)
            ),
            "act": lambda ready: imports.carry_out(**agreed(), ready=ready),
            "done": lambda plan: (said_of(sheet, plan), reverse("in-and-out")),
        }
    )
    return form_page(
        request,
        form,
        title=f"{sheet.title}: what would change",
        **how,
        template="inventory/stock/import_shown.html",
        sheet=sheet,
        preview=preview,
        back=reverse("import", args=[sheet.name]),
    )


@require_safe
@member_page("maker")
def template_file(request: StudioRequest, kind: str, extension: str) -> HttpResponse:
    """An empty file of one kind, to fill in."""
    sheet = _sheet(kind)
    require(request.membership, *sheet.sights)
    if extension not in FORMATS:
        raise Http404
    body = imports.template(studio=request.studio, sheet=sheet, extension=extension)
    name = f'attachment; filename="{sheet.name}-template.{extension}"'
    return HttpResponse(
        body, content_type=FORMATS[extension], headers={"Content-Disposition": name}
    )


urlpatterns = [
    path("in-and-out/import/<slug:kind>/", bring_in, name="import"),
    path(
        "in-and-out/import/<slug:kind>/template.<slug:extension>",
        template_file,
        name="import-template",
    ),
]
