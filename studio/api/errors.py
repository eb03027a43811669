"""One shape for every refusal: ``{"code", "detail"}``, or the fields at fault."""

from rest_framework.response import Response
from rest_framework.views import exception_handler as drf_handler
from rest_framework.views import set_rollback

from studio.errors import StudioError


def exception_handler(error, context):
    """Turn a refusal into 409 with its code and sentence; leave the rest to the framework."""
    if isinstance(error, StudioError):
        set_rollback()
        return Response({"code": error.code, "detail": str(error)}, status=409)
    return drf_handler(error, context)
