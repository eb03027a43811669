"""What comes in by the web is cleaned before anything looks at it."""

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from django.http import Http404, HttpRequest, HttpResponse, UnreadablePostError
from django.http.request import QueryDict

from studio.text import one_line, several_lines

if TYPE_CHECKING:
    from django.http.request import _ImmutableQueryDict

SPOKEN = ("HTTP_", "CONTENT_TYPE")  # headers, as they stand in a request's environment
KEY = "HTTP_IDEMPOTENCY_KEY"  # another key would be another act: the API refuses it in words

LONGEST_NAME = 255  # [characters]


class CleanTextMiddleware:
    """Take out of a request what is no text: of its headers, cookies, query string, names of files
    and, for pages, of what forms send. Texts read as UTF-8, whatever the request calls them.

    A page's path is not changed but leads nowhere. The API says in its own words what it refuses in
    an address, and reads its bodies through `studio.api.parsers`.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.encoding = "utf-8"
        for name, text in request.META.items():
            if name.startswith(SPOKEN) and name != KEY and not text.isprintable():
                request.META[name] = several_lines(text)
        request.COOKIES = {
            several_lines(name): several_lines(text) for name, text in request.COOKIES.items()
        }
        if not request.path.startswith("/api/"):
            if several_lines(request.path) != request.path:
                raise Http404
            request.GET = cleaned(request.GET)
        return self.get_response(request)

    def process_view(
        self,
        request: HttpRequest,
        view: Callable[..., HttpResponse],
        args: Sequence[Any],
        kwargs: Mapping[str, Any],
    ) -> None:
        # Here, and not above, where a form with files would be read before its view is known.
        if request.method != "POST" or request.path.startswith("/api/"):
            return
        try:
            request.POST = cleaned(request.POST)
        except UnreadablePostError:  # the browser went away; nothing was sent
            return
        for _, files in request.FILES.lists():
            for file in files:
                file.name = one_line(file.name or "")


def name_given(request: HttpRequest, credentials: Mapping[str, str] | None = None) -> str:
    """Return the name that somebody tries to sign in with, as far as it is remembered."""
    name = (credentials or {}).get("username") or request.POST.get("username") or ""
    return name[:LONGEST_NAME]


def cleaned(texts: QueryDict) -> "_ImmutableQueryDict":
    """Return a query string or a form, a `QueryDict`, with every text in it cleaned."""
    clean = QueryDict(mutable=True)
    for name, values in texts.lists():
        clean.setlist(several_lines(name), [several_lines(one) for one in values])
    clean._mutable = False
    return clean  # type: ignore[return-value]  # just made one that cannot be changed
