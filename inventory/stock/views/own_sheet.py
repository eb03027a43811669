"""A sheet of one's own: choose it, say what its columns are, and bring its good rows in."""

import base64
from contextlib import nullcontext
from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path, reverse

from inventory.stock.forms.own_sheet import OwnSheetForm, body_in, told_in
from inventory.stock.imports import own
from inventory.stock.imports.later import LONG
from inventory.stock.imports.own.later import bring_in_later, kept
from inventory.stock.sheets import Told
from studio.access import member_page, require
from studio.errors import StudioError
from studio.models import BackgroundTask
from studio.requests import StudioRequest
from studio.sight import COSTS
from studio.tables import Limits
from studio.text import shortened
from studio.views.form_page import form_page, new_token

TEMPLATE = "inventory/stock/own_sheet_shown.html"
TITLE = "Your own sheet"


class SheetFileForm(forms.Form):
    """A sheet of any layout."""

    file = forms.FileField(
        label="Your sheet",
        help_text="CSV or XLSX, up to 2 MB and 2,000 rows.",
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx"}),
    )


@member_page("maker")
def own_sheet(request: StudioRequest) -> HttpResponse:
    """Choose a sheet of any layout; see how it is understood; bring its good rows in."""
    require(request.membership, COSTS)
    if "kept" in request.POST:
        body, told = body_in(request.POST), told_in(request.POST)
        if "bring" in request.POST:
            return _bring_in(request, body, told)
        return _shown(request, body, request.POST.get("name", ""), told)
    form = SheetFileForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        try:
            return _shown(request, file.read(Limits().body + 1), file.name)
        except StudioError as error:
            form.add_error("file", str(error))
    context = {"form": form, "back": reverse("in-and-out")}
    status = 422 if form.is_bound else 200
    return render(request, "inventory/stock/own_sheet.html", context, status=status)


def _shown(
    request: StudioRequest, body: bytes, name: str, told: Told | None = None
) -> HttpResponse:
    ready = own.look(studio=request.studio, body=body, told=told)
    kept_body = base64.urlsafe_b64encode(body).decode()
    form = OwnSheetForm(ready, initial={"kept": kept_body, "name": shortened(name, 120)})
    context = {"form": form, "ready": ready, "title": TITLE, "once": new_token()}
    return render(request, TEMPLATE, context | {"back": reverse("own-sheet")})


def _bring_in(request: StudioRequest, body: bytes, told: Told) -> HttpResponse:
    ready = own.look(studio=request.studio, body=body, told=told)
    form = OwnSheetForm(ready, request.POST)

    def agreed() -> dict[str, Any]:
        by = {"studio": request.studio, "by": request.user}
        return by | {"digest": form.cleaned_data["shown"], "file_name": form.cleaned_data["name"]}

    def now(ready: own.SheetReady) -> BackgroundTask | own.BroughtIn:
        result = own.bring_in_good(**agreed(), ready=ready)
        if result.to_mend is None:
            return result
        name = form.cleaned_data["name"]
        return kept(studio=request.studio, by=request.user, result=result, file_name=name)

    def later(ready: own.SheetReady) -> BackgroundTask:
        return bring_in_later(**agreed(), body=body, told=told)

    def done(result: BackgroundTask | own.BroughtIn) -> tuple[str, str]:
        if isinstance(result, own.BroughtIn):
            return result.sentence, reverse("in-and-out")
        said = "The good rows are in." if result.ended_at else "The good rows are being brought in."
        return said, reverse("background-task", args=[result.pk])

    return form_page(
        request,
        form,
        title=TITLE,
        prepare=lambda data: nullcontext(ready),
        act=later if len(body) > LONG else now,
        done=done,
        template=TEMPLATE,
        ready=ready,
        back=reverse("own-sheet"),
    )


urlpatterns = [path("in-and-out/sheet/", own_sheet, name="own-sheet")]
