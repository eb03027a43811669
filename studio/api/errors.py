"""One shape for every refusal: ``{"code", "detail"}``, or the fields at fault."""

from django.core.exceptions import ValidationError as ModelValidationError
from rest_framework.exceptions import ValidationError
from rest_framework.response import Response
from rest_framework.serializers import as_serializer_error
from rest_framework.views import exception_handler as drf_handler
from rest_framework.views import set_rollback

from studio.errors import StudioError


def exception_handler(error, context):
    """Turn a refusal into 409 with its code and sentence, and give the framework's own a code."""
    if isinstance(error, StudioError):
        set_rollback()
        return Response({"code": error.code, "detail": str(error)}, status=409)
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
