"""The search from every page."""

from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_safe

from studio.access import member_page
from studio.requests import StudioRequest
from studio.searching import direct, search
from studio.views.lists import list_page, words_of


@member_page("viewer")
@require_safe
def search_page(request: StudioRequest) -> HttpResponse:
    """Show all that has what was typed, kind by kind, as it is typed; a whole code opens it."""
    words = words_of(request)
    if not request.htmx and (page := direct(request.membership, words)):
        return redirect(page)
    context = {"words": words, "found": list(search(request.membership, words))}
    return list_page(request, "studio/search.html", "studio/_search_found.html", context)
