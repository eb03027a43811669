"""Answers that are tables for a spreadsheet, in the kind of file that is asked for."""

from drf_spectacular.utils import OpenApiParameter
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request

from studio.tables import FORMATS

AS = OpenApiParameter("as", str, enum=list(FORMATS), default="csv")
TABLES = tuple(kind.partition(";")[0] for kind in FORMATS.values())


def asked_format(request: Request) -> str:
    """Return the kind of file that is asked for, as it ends; any other is a 400."""
    ending = request.query_params.get(AS.name, AS.default)
    if ending not in FORMATS:
        refusal = f"Choose one of: {', '.join(FORMATS)}."
        raise ValidationError({AS.name: [refusal]}, code="invalid_choice")
    return ending
