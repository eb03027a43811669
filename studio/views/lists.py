"""Pages that list rows: found by words, a page at a time, with or without the frame around them."""

from django.core.paginator import Paginator
from django.shortcuts import render
from django.utils.cache import patch_vary_headers

PAGE_SIZE = 50
LONGEST_WORDS = 200  # no name is longer, and a database looks for no pattern without end


def words_of(request):
    """Return what a person looks for; a NUL, which no text in the database has, is left out."""
    return request.GET.get("q", "").replace("\0", "").strip()[:LONGEST_WORDS]


def page_of(request, rows):
    """Return the page of rows asked for, the nearest when there is no such page."""
    return Paginator(rows, PAGE_SIZE).get_page(request.GET.get("page"))


def list_page(request, page_name, part_name, context):
    """Show a list: the whole page, or only its rows to a page that is there already."""
    is_part = request.htmx and not request.htmx.history_restore_request
    response = render(request, part_name if is_part else page_name, context)
    patch_vary_headers(response, ["HX-Request"])
    return response
