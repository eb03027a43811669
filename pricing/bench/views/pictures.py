"""Pictures: added to a commission, a pour, a piece or a set, looked at, described, removed."""

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_safe

from pricing.bench.forms.pictures import NewPicturesForm, PictureForm
from pricing.bench.pictures import (
    FIELDS,
    MOST,
    Thing,
    add_pictures,
    describe_picture,
    remove_picture,
)
from pricing.models import FinishedPiece, Picture
from studio.access import member_page
from studio.models import Studio
from studio.requests import StudioRequest
from studio.views.form_page import form_page

SIZES = ("full", "small")
# The first part of an address, and where rows of that kind stand in a studio.
PLACES = {"commission": "commissions", "pour": "pours", "set": "sets"}


def pictures_of(thing: Thing) -> dict[str, object]:
    """Return what the part of a page with a thing's pictures is drawn from."""
    rows = list(thing.pictures.all())
    for row in rows:  # so that none asks for it anew
        setattr(row, FIELDS[type(thing)], thing)
    return {
        "pictures": rows,
        "pictures_url": reverse(f"{_place(thing)}-pictures", args=_names(thing)),
        "picture_form": NewPicturesForm(thing=thing) if len(rows) < MOST else None,
    }


def page_of(thing: Thing) -> str:
    """Return where the work is shown that a picture is of."""
    return reverse(_place(thing), args=_names(thing))


def _place(thing: Thing) -> str:
    field = FIELDS[type(thing)]
    return "set" if field == "piece_set" else field


def _names(thing: Thing) -> list[int]:
    """Return what an address names a thing by."""
    return [thing.pour.number, thing.number] if isinstance(thing, FinishedPiece) else [thing.number]


def picture_or_404(studio: Studio, pk: int) -> Picture:
    """Return a picture of the studio, or 404."""
    return get_object_or_404(
        studio.pictures.select_related("commission", "pour", "piece__pour", "piece_set", "by"),
        pk=pk,
    )


@member_page("maker")
def pictures_new(request: StudioRequest, place: str, number: int) -> HttpResponse:
    """Add pictures to a commission, a pour or a set."""
    thing = get_object_or_404(getattr(request.studio, PLACES[place]), number=number)
    return _new(request, thing)


@member_page("maker")
def piece_pictures_new(request: StudioRequest, number: int, piece: int) -> HttpResponse:
    """Add pictures to a piece."""
    rows = request.studio.pieces.select_related("pour")
    return _new(request, get_object_or_404(rows, pour__number=number, number=piece))


def _new(request: StudioRequest, thing: Thing) -> HttpResponse:
    sent = (request.POST, request.FILES) if request.method == "POST" else ()

    def message(pictures: list[Picture]) -> tuple[str, str]:
        count = "The picture is" if len(pictures) == 1 else f"{len(pictures)} pictures are"
        return f"{count} added.", f"{page_of(thing)}#pictures"

    return form_page(
        request,
        NewPicturesForm(*sent, thing=thing),
        title="Add pictures",
        lead=str(thing),
        act=lambda data: add_pictures(thing=thing, by=request.user, **data),
        done=message,
        button="Add",
        back=page_of(thing),
    )


@require_safe
@member_page("viewer")
def picture(request: StudioRequest, pk: int) -> HttpResponse:
    """Show one picture as large as it is kept."""
    row = picture_or_404(request.studio, pk)
    beside = list(row.thing.pictures.values_list("pk", flat=True))
    here = beside.index(pk)
    context = {
        "picture": row,
        "back": page_of(row.thing),
        "earlier": beside[here - 1] if here else None,
        "later": beside[here + 1] if here + 1 < len(beside) else None,
    }
    return render(request, "pricing/bench/picture.html", context)


@member_page("maker")
def picture_edit(request: StudioRequest, pk: int) -> HttpResponse:
    """Change what a picture is said to show."""
    picture = picture_or_404(request.studio, pk)
    return form_page(
        request,
        PictureForm(
            request.POST or None,
            thing=picture.thing,
            initial={"kind": picture.kind, "caption": picture.caption},
        ),
        title=f"Change {picture}",
        act=lambda data: describe_picture(picture=picture, **data),
        done=lambda saved: ("The picture is saved.", reverse("picture", args=[pk])),
        back=reverse("picture", args=[pk]),
    )


@member_page("maker")
def picture_remove(request: StudioRequest, pk: int) -> HttpResponse:
    """Remove a picture for good."""
    picture = picture_or_404(request.studio, pk)
    thing = picture.thing

    def message(_: None) -> tuple[str, str]:
        return "The picture is removed.", f"{page_of(thing)}#pictures"

    return form_page(
        request,
        forms.Form(request.POST if request.method == "POST" else None),
        title=f"Remove {picture}",
        lead="It is deleted for good.",
        act=lambda data: remove_picture(picture=picture),
        done=message,
        button="Remove the picture",
        back=reverse("picture", args=[pk]),
    )


@require_safe
@member_page("viewer")
def picture_file(request: StudioRequest, pk: int, size: str) -> HttpResponse:
    """Send the bytes of a picture."""
    if size not in SIZES:
        raise Http404
    return picture_answer(request, request.studio, pk, size)


def picture_answer(request: HttpRequest, studio: Studio, pk: int, size: str) -> HttpResponse:
    """Answer with one size of a picture of the studio, or that it has not changed.

    It may be kept by the person's own browser alone, which asks each time whether it still may show
    it.
    """
    picture = get_object_or_404(studio.pictures.all(), pk=pk)
    etag = f'"{size}-{picture.sha256}"'
    headers = {"ETag": etag, "Cache-Control": "private, no-cache"}
    answer = get_conditional_response(request, etag=etag)
    if answer is None:
        answer = HttpResponse(bytes(getattr(picture, size)), content_type="image/jpeg")
        headers["Content-Disposition"] = f'inline; filename="picture-{picture.pk}.jpg"'
    for name, value in headers.items():
        answer[name] = value
    return answer


urlpatterns = [
    *(
        path(
            f"{rows}/<int:number>/pictures/",
            pictures_new,
            {"place": place},
            name=f"{place}-pictures",
        )
        for place, rows in PLACES.items()
    ),
    path(
        "pours/<int:number>/pieces/<int:piece>/pictures/",
        piece_pictures_new,
        name="piece-pictures",
    ),
    path("pictures/<int:pk>/", picture, name="picture"),
    path("pictures/<int:pk>/edit/", picture_edit, name="picture-edit"),
    path("pictures/<int:pk>/remove/", picture_remove, name="picture-remove"),
    path("pictures/<int:pk>/<slug:size>.jpg", picture_file, name="picture-file"),
]
