"""Labels for bottles: choosing and printing them, and what their codes open."""

from collections.abc import Callable
from typing import Any

from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from inventory.models import Bottle
from inventory.stock import labels
from inventory.stock.forms.labels import LabelsForm
from studio.access import SESSION_KEY, member_page
from studio.background import made_beside
from studio.errors import StudioError
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.site import address
from studio.views.lists import page_of

# More than so many are drawn by the worker.
LONG_SHEET = 100


def _key(request: StudioRequest, name: str) -> int | None:
    """Return the key of a row that the address names, or None."""
    text = request.GET.get(name, "")
    if not text:
        return None
    if not (text.isascii() and text.isdecimal() and len(text) < 19):
        raise Http404
    return int(text)


def _chosen(request: StudioRequest) -> QuerySet[Bottle]:
    """Return the bottles asked for: those ticked, of a delivery or a material, or all there are."""
    ticked = request.GET.getlist("bottle")
    wants_ticked = ticked or request.GET.get("which") == "ticked"
    return labels.bottles_to_label(
        request.studio,
        codes=ticked if wants_ticked else None,
        delivery=_key(request, "delivery"),
        material=_key(request, "material"),
    )


@require_safe
@member_page("viewer")
def choose(request: StudioRequest) -> HttpResponse:
    """Choose the bottles and the blank labels to print on."""
    return _page(request, LabelsForm(request.GET, studio=request.studio))


def _page(request: StudioRequest, form: LabelsForm, status: int = 200) -> HttpResponse:
    rows = _chosen(request)
    filters = {"bottle", "delivery", "material"} & set(request.GET)
    context = {"form": form, "page": page_of(request, rows), "narrowed": bool(filters)}
    return render(request, "inventory/stock/labels.html", context, status=status)


def _long_sheet(request: StudioRequest) -> str:
    form = LabelsForm(request.GET, studio=request.studio)
    copies = form.cleaned_data["copies"] if form.is_valid() else 0
    count = copies * (len(request.GET.getlist("bottle")) or _chosen(request).count())
    # Those that are refused are refused on their page.
    return "Bottle labels" if LONG_SHEET < count <= labels.MOST_LABELS else ""


@require_safe
@member_page("viewer")
@made_beside(_long_sheet)
def sheet(request: StudioRequest) -> HttpResponse:
    """Answer with the labels as a PDF, or with the form and what is wrong with it."""

    def draw(choices: dict[str, Any]) -> bytes:
        return labels.labels_sheet(
            request.studio,
            list(_chosen(request)[: labels.MOST_LABELS + 1]),
            choices["blank"],
            address=lambda row: address(labels.address_of(row)),
            start=choices["start"],
            copies=choices["copies"],
        )

    return _drawn(request, draw, "bottle-labels.pdf")


@require_safe
@member_page("viewer")
def check_sheet(request: StudioRequest) -> HttpResponse:
    """Answer with hair lines around every label as a PDF, to see whether the printer is true."""
    return _drawn(
        request,
        lambda choices: labels.check_sheet(request.studio, choices["blank"]),
        "label-test-sheet.pdf",
    )


def _drawn(
    request: StudioRequest, draw: Callable[[dict[str, Any]], bytes], filename: str
) -> HttpResponse:
    form = LabelsForm(request.GET, studio=request.studio)
    if form.is_valid():
        try:
            return pdf_response(draw(form.cleaned_data), filename)
        except StudioError as error:
            form.add_error(None, str(error))
    return _page(request, form, status=422)


@require_safe
@member_page("viewer")
def scan(request: StudioRequest, studio: int, code: str) -> HttpResponse:
    """Lead to the bottle whose label was scanned, in the studio whose it is.

    Codes are each studio's own, so the label names the studio; whoever works in several goes on in
    this one.
    """
    theirs = request.user.memberships.select_related("studio")
    membership = get_object_or_404(theirs, studio_id=studio)
    bottle = get_object_or_404(membership.studio.bottles, code__iexact=code)
    request.session[SESSION_KEY] = membership.studio_id
    return redirect("bottle", bottle.code)
