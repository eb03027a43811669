"""Pages that list rows: found by words, a page at a time, with or without the frame around them."""

from typing import Any, TypeVar

from django.core.paginator import Page, Paginator
from django.db.models import Model, QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers

from studio.period_rows import in_period, period_of
from studio.requests import StudioRequest

PAGE_SIZE = 50
LONGEST_WORDS = 200  # no name is longer, and a database looks for no pattern without end


Row = TypeVar("Row", bound=Model)


def words_of(request: StudioRequest) -> str:
    """Return what a person looks for; a NUL, which no text in the database has, is left out."""
    return request.GET.get("q", "").replace("\0", "").strip()[:LONGEST_WORDS]


def page_of(request: StudioRequest, rows: QuerySet[Row]) -> Page[Row]:
    """Return the page of rows asked for, the nearest when there is no such page."""
    return Paginator(rows, PAGE_SIZE).get_page(request.GET.get("page"))


def period_page(request: StudioRequest, rows: QuerySet[Row], dated_by: str) -> dict[str, Any]:
    """Return the page of rows of the period asked for, and the period, as a template takes them.

    ``dated_by`` is the day or moment of a row that has to lie in it.
    """
    period = period_of(request)
    return {
        "page": page_of(request, in_period(rows, dated_by, period, request.studio)),
        "period": period,
    }


def list_page(
    request: StudioRequest, page_name: str, part_name: str, context: dict[str, Any]
) -> HttpResponse:
    """Show a list: the whole page, or only its rows to a page that is there already."""
    is_part = request.htmx and not request.htmx.history_restore_request
    response = render(request, part_name if is_part else page_name, context)
    patch_vary_headers(response, ["HX-Request"])
    return response
