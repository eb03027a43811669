"""One shape for every refusal: problem details as RFC 9457 has them, in plain sentences."""

from collections.abc import Callable, Iterator
from http import HTTPStatus
from typing import Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.core.exceptions import ValidationError as ModelValidationError
from django.http import HttpRequest, HttpResponse, JsonResponse
from rest_framework.exceptions import APIException, ValidationError
from rest_framework.response import Response
from rest_framework.serializers import as_serializer_error
from rest_framework.settings import api_settings
from rest_framework.views import exception_handler as drf_handler
from rest_framework.views import set_rollback

from studio.errors import StudioError

MEDIA_TYPE = "application/problem+json"
WHOLE = api_settings.NON_FIELD_ERRORS_KEY
# What the framework answers with a page of its own, before or after an endpoint has its say.
SENTENCES = {
    400: ("bad_request", "This cannot be read as a request to this server."),
    403: ("permission_denied", "This may not be asked."),
    404: ("not_found", "There is nothing at this address."),
    405: ("method_not_allowed", "This cannot be asked with this method."),
    406: ("not_acceptable", "Answers are JSON."),
    413: ("too_large", "That is more than this server takes at once. Send it in parts."),
    500: ("error", "Something went wrong here. Nothing was changed; try again."),
    503: ("no_database", "The database does not answer. Nothing was changed; try again later."),
    507: ("disk_full", "The disk is full. Nothing was changed; whoever runs this makes room."),
}


class ChangedMeanwhile(APIException):
    """Refusal of a change to a row that somebody changed since it was read."""

    status_code = 412
    default_code = "changed_meanwhile"
    default_detail = "This was changed since you read it. Read it again, then change it."


class MatchRequired(APIException):
    """Refusal of a change that does not say, in If-Match, which version it changes."""

    status_code = 428
    default_code = "match_required"
    default_detail = (
        "Say in the header If-Match which version you change: the ETag it was read with."
    )


def problem(
    status: int, code: str, detail: str, fields: dict[str, Any] | None = None
) -> dict[str, Any]:
    """Return a refusal as it is answered.

    Parameters
    ----------
    status : int
        The HTTP status, [-]
    code : str
        A word for programs.
    detail : str
        A sentence that says what to do.
    fields : dict, optional
        Each field at fault, as ``lines.0.count``, with its sentences.
    """
    problem_details = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "code": code,
        "detail": detail,
    }
    return problem_details | ({"fields": fields} if fields else {})


class JsonErrorsMiddleware:
    """Answer every refusal below ``/api/`` as a problem, also those that no endpoint gave.

    It stands outermost, so that it sees what the others refuse.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        status = response.status_code
        if status < 400 or not request.path.startswith("/api/"):
            return response
        if response.get("Content-Type", "").startswith(MEDIA_TYPE):
            return response
        if status >= 500 and settings.DEBUG:
            return response  # the page that shows where
        code, detail = SENTENCES.get(status, ("refused", response.reason_phrase))
        problem_details = problem(status, code, detail)
        answer = JsonResponse(problem_details, status=status, content_type=MEDIA_TYPE)
        for name in ("Allow", "WWW-Authenticate", "Retry-After"):
            if name in response:
                answer[name] = response[name]
        return answer


def exception_handler(error: Exception, context: dict[str, Any]) -> Response | None:
    """Turn a refusal into a problem: 409 where the studio's own rules refuse."""
    if isinstance(error, StudioError):
        set_rollback()
        return _answer(409, error.code, str(error), error.fields)
    if isinstance(error, RequestDataTooBig):
        return _answer(413, *SENTENCES[413])
    if isinstance(error, ModelValidationError):
        error = ValidationError(as_serializer_error(error))
    response = drf_handler(error, context)
    if response is None:
        return None
    status = response.status_code
    if isinstance(error, ValidationError):
        answer = _answer(status, "invalid", *_sentence_and_fields(error.detail))
    elif status == 404:  # the framework's sentence would name the model
        answer = _answer(status, *SENTENCES[404])
    else:
        detail = response.data["detail"]
        answer = _answer(status, getattr(detail, "code", "refused"), str(detail))
    for name in ("Allow", "WWW-Authenticate", "Retry-After"):
        if name in response:
            answer[name] = response[name]
    return answer


def _answer(status: int, code: str, detail: str, fields: dict[str, Any] | None = None) -> Response:
    data = problem(status, code, detail, fields)
    return Response(data, status=status, content_type=MEDIA_TYPE)


def _sentence_and_fields(detail: Any) -> tuple[str, dict[str, list[str]]]:
    """Return one sentence on all that cannot be read, and {field: its sentences}."""
    fields = dict(_flat(detail, ()))
    whole = fields.pop(WHOLE, [])
    if fields:
        whole = [*whole, f"Look at {', '.join(fields)}."]
    return " ".join(whole), fields


def _flat(detail: Any, way: tuple[str, ...]) -> Iterator[tuple[str, list[str]]]:
    if isinstance(detail, dict):
        for name, inner in detail.items():
            yield from _flat(inner, way if name == WHOLE and way else (*way, str(name)))
    elif detail and all(isinstance(one, str) for one in detail):
        yield ".".join(way) or WHOLE, [str(one) for one in detail]
    else:
        for place, inner in enumerate(detail):
            yield from _flat(inner, (*way, str(place)))
