"""Care cards and tags of sets and pieces, and what their codes open."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_safe

from pricing.models import FinishedPiece, PieceSet, Pour
from pricing.selling.care import Care, care_of_pieces, care_of_sets
from pricing.selling.care_cards import care_sheet
from pricing.selling.forms.care import CareForm
from studio.access import SESSION_KEY, member_page
from studio.errors import StudioError
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.site import address

USUAL = {"what": "cards", "copies": "1"}


def _set(request: StudioRequest, number: int) -> PieceSet:
    return get_object_or_404(request.studio.sets, number=number)


def _pour(request: StudioRequest, number: int) -> Pour:
    return get_object_or_404(request.studio.pours, number=number)


def _form(request: StudioRequest) -> CareForm:
    asked = request.GET.copy()
    for name, value in USUAL.items():
        asked.setdefault(name, value)
    return CareForm(asked)


def _page(
    request: StudioRequest, thing: PieceSet | Pour, form: CareForm, status: int = 200
) -> HttpResponse:
    is_set = isinstance(thing, PieceSet)
    if not is_set:
        form.fields.pop("each", None)
    place = "set" if is_set else "pour"
    context: dict[str, object] = {
        "form": form,
        "thing": thing.label if isinstance(thing, PieceSet) else thing,
        "back": reverse(place, args=[thing.number]),
        "print_url": reverse(f"{place}-care-pdf", args=[thing.number]),
        "problem": "",
    }
    try:
        context["cares"] = _cares(request, thing, form)[:1]
    except StudioError as error:
        context["problem"] = str(error)
    return render(request, "pricing/selling/care.html", context, status=status)


def _cares(request: StudioRequest, thing: PieceSet | Pour, form: CareForm) -> list[Care]:
    if isinstance(thing, Pour):
        return care_of_pieces(request.studio, FinishedPiece.objects.filter(pour=thing))
    if form.is_valid() and form.cleaned_data.get("each"):
        return care_of_pieces(request.studio, FinishedPiece.objects.filter(piece_set=thing))
    return care_of_sets(request.studio, [thing])


def _pdf(request: StudioRequest, thing: PieceSet | Pour, name: str) -> HttpResponse:
    form = _form(request)
    if form.is_valid():
        data = form.cleaned_data
        try:
            sheet = care_sheet(
                request.studio,
                _cares(request, thing, form),
                data["what"],
                address=address,
                copies=data["copies"],
            )
        except StudioError as error:
            form.add_error(None, str(error))
        else:
            return pdf_response(sheet, f"{name}-{data['what']}.pdf")
    return _page(request, thing, form, status=422)


@require_safe
@member_page("viewer")
def set_care(request: StudioRequest, number: int) -> HttpResponse:
    """Choose what to print for a set: cards or tags, for all of it or for each piece."""
    return _page(request, _set(request, number), _form(request))


@require_safe
@member_page("viewer")
def set_care_pdf(request: StudioRequest, number: int) -> HttpResponse:
    """The care cards or tags of a set as a PDF."""
    return _pdf(request, _set(request, number), f"set-{number}-care")


@require_safe
@member_page("viewer")
def pour_care(request: StudioRequest, number: int) -> HttpResponse:
    """Choose what to print for the good pieces of a pour."""
    return _page(request, _pour(request, number), _form(request))


@require_safe
@member_page("viewer")
def pour_care_pdf(request: StudioRequest, number: int) -> HttpResponse:
    """The care cards or tags of a pour's good pieces as a PDF."""
    return _pdf(request, _pour(request, number), f"pour-{number}-care")


def _scan(request: StudioRequest, studio: int, number: int, rows: str, page: str) -> HttpResponse:
    """Lead to what a code names, in the studio whose it is; it goes on as that studio."""
    membership = get_object_or_404(
        request.user.memberships.select_related("studio"), studio_id=studio
    )
    row = get_object_or_404(getattr(membership.studio, rows), number=number)
    request.session[SESSION_KEY] = membership.studio_id
    return redirect(page, row.number)


@require_safe
@member_page("viewer")
def set_scan(request: StudioRequest, studio: int, number: int) -> HttpResponse:
    """Lead to the set whose card was scanned."""
    return _scan(request, studio, number, "sets", "set")


@require_safe
@member_page("viewer")
def pour_scan(request: StudioRequest, studio: int, number: int) -> HttpResponse:
    """Lead to the pour of the piece whose card was scanned."""
    return _scan(request, studio, number, "pours", "pour")


urlpatterns = [
    path("sets/<int:number>/care/", set_care, name="set-care"),
    path("sets/<int:number>/care.pdf", set_care_pdf, name="set-care-pdf"),
    path("pours/<int:number>/care/", pour_care, name="pour-care"),
    path("pours/<int:number>/care.pdf", pour_care_pdf, name="pour-care-pdf"),
    path("s/<int:studio>/<int:number>/", set_scan, name="set-scan"),
    path("p/<int:studio>/<int:number>/", pour_scan, name="pour-scan"),
]
