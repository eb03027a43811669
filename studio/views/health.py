"""How the site stands, for programs that watch over it; nothing that is kept is told."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from studio.access import open_page
from studio.health import Finding, findings
from studio.proxies import problem_of


@open_page
@require_safe
@never_cache
def live(request: HttpRequest) -> HttpResponse:
    """Answer that the program runs; nothing else is looked at."""
    return JsonResponse({"live": True})


@open_page
@require_safe
@never_cache
def ready(request: HttpRequest) -> HttpResponse:
    """Answer how what the site needs stands, with 503 where it cannot serve for lack of it."""
    found = findings()
    if problem := problem_of(request):
        found.append(Finding("proxy", problem, is_well=False))
    serves = all(one.serves for one in found)
    told: dict[str, object] = {"ready": serves, "well": all(one.is_well for one in found)}
    told |= {one.name: one.words for one in found}
    return JsonResponse(told, status=200 if serves else 503)


VIEWS = {"/health/live": live, "/health/ready": ready}


class HealthMiddleware:
    """Answer these whatever name the site is asked by, before anything else looks at a request.

    Who watches from beside calls it by an address that no visitor uses.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return VIEWS.get(request.path_info, self.get_response)(request)
