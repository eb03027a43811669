"""Endpoints that answer with a PDF."""

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.renderers import JSONRenderer

from studio.api.views import StudioView


class PaperView(StudioView):
    """An endpoint of one PDF; whatever the caller accepts, refusals are JSON as everywhere."""

    def perform_content_negotiation(self, request, force=False):
        return JSONRenderer(), JSONRenderer.media_type


def paper(body, name):
    """Answer with the bytes of a PDF, to be shown or saved as ``name``."""
    return HttpResponse(
        body,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}.pdf"'},
    )


def describes_paper(operation_id, description, parameters=()):
    """Describe an operation that answers with a PDF."""
    return extend_schema(
        operation_id=operation_id,
        description=description,
        parameters=list(parameters),
        responses={(200, "application/pdf"): OpenApiTypes.BINARY},
    )
