"""One shape for every refusal: ``{"code", "detail"}``, or the fields at fault."""

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.core.exceptions import ValidationError as ModelValidationError
from django.http import JsonResponse
from rest_framework.exceptions import ValidationError
from rest_framework.response import Response
from rest_framework.serializers import as_serializer_error
from rest_framework.views import exception_handler as drf_handler
from rest_framework.views import set_rollback

from studio.errors import StudioError

# What the framework answers with a page of its own, before or after an endpoint has its say.
SENTENCES = {
    400: ("bad_request", "This cannot be read as a request to this server."),
    403: ("permission_denied", "This may not be asked."),
    404: ("not_found", "There is nothing at this address."),
    405: ("method_not_allowed", "This cannot be asked with this method."),
    406: ("not_acceptable", "Answers are JSON."),
    413: ("too_large", "That is more than this server takes at once. Send it in parts."),
    500: ("error", "Something went wrong here. Nothing was changed; try again."),
}


class JsonErrorsMiddleware:
    """Answer every refusal below ``/api/`` in JSON, also those that no endpoint gave.

    It stands outermost, so that it sees what the others refuse.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        status = response.status_code
        if status < 400 or not request.path.startswith("/api/"):
            return response
        if response.get("Content-Type", "").startswith("application/json"):
            return response
        if status >= 500 and settings.DEBUG:
            return response  # the page that shows where
        code, detail = SENTENCES.get(status, ("refused", response.reason_phrase))
        answer = JsonResponse({"code": code, "detail": detail}, status=status)
        for name in ("Allow", "WWW-Authenticate", "Retry-After"):
            if name in response:
                answer[name] = response[name]
        return answer


def exception_handler(error, context):
    """Turn a refusal into 409 with its code and sentence, and give the framework's own a code."""
    if isinstance(error, StudioError):
        set_rollback()
        return Response({"code": error.code, "detail": str(error)}, status=409)
    if isinstance(error, RequestDataTooBig):
        code, detail = SENTENCES[413]
        return Response({"code": code, "detail": detail}, status=413)
    if isinstance(error, ModelValidationError):
        error = ValidationError(as_serializer_error(error))
    response = drf_handler(error, context)
    if response is not None and set(response.data) == {"detail"}:
        response.data = _with_code(response.data["detail"], response.status_code)
    return response


def _with_code(detail, status):
    if status == 404:  # the framework's sentence would name the model
        return {"code": "not_found", "detail": "There is nothing at this address."}
    return {"code": getattr(detail, "code", "refused"), "detail": str(detail)}
