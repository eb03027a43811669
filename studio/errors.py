"""Refusals: what a person asked for cannot be done, and the sentence that says why."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.utils.http import url_has_allowed_host_and_scheme

PRESS = (
    "There is nothing to look at here, and nothing was done: this address only takes what a button "
    "sends. Go back to the page the button is on, and press it again."
)


class StudioError(Exception):
    """A refusal that carries a code and a sentence for the person who asked.

    Each app adds its own kinds beside the service that raises them.
    """

    code = "refused"

    def __init__(self, sentence: str, **facts: object) -> None:
        self.sentence = sentence
        self.facts = facts
        super().__init__(sentence)

    def __str__(self) -> str:
        return self.sentence

    @property
    def fields(self) -> dict[str, list[str]]:
        """Each field that it is about, by its name, with its sentences."""
        return {}

    @property
    def hints(self) -> dict[str, str]:
        """What to write into such a field, by its name."""
        return {}

    @property
    def offers(self) -> dict[str, str]:
        """What is written into such a field where it is empty, by its name."""
        return {}


class RefusalMiddleware:
    """Show a refusal on the page it was asked from, with the same sentence as the API gives."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code == 405 and not response.content:
            return _nothing_to_look_at(request, response)
        return response

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if not isinstance(error, StudioError) or request.path.startswith("/api/"):
            return None
        if request.headers.get("HX-Request"):
            return HttpResponse(str(error), status=409, content_type="text/plain; charset=utf-8")
        if request.method == "POST":
            messages.error(request, str(error))
            return redirect(_asked_from(request))
        return TemplateResponse(
            request, "studio/refused.html", {"sentence": str(error)}, status=409
        ).render()


def _nothing_to_look_at(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """Return the answer of an address that only takes what a button sends.

    Whoever pressed one after their session ran out comes to such an address by signing in again.
    """
    page = TemplateResponse(request, "studio/refused.html", {"sentence": PRESS}, status=405)
    page.headers["Allow"] = response.headers["Allow"]
    return page.render()


def _asked_from(request: HttpRequest) -> str:
    """Return the page the form stood on; its own address may not be one that can be looked at."""
    page = request.headers.get("Referer", "")
    ours = {request.get_host()}
    if url_has_allowed_host_and_scheme(page, ours, require_https=request.is_secure()):
        return page
    return request.get_full_path()


class Refused(StudioError):
    """A refusal by the arithmetic, in its own words."""


@contextmanager
def in_words(*kinds: type[Exception]) -> Iterator[None]:
    """Turn the arithmetic's errors, whose text is a sentence, into a refusal."""
    try:
        yield
    except kinds as error:
        raise Refused(str(error)) from error
