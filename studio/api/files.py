"""Answers that are tables for a spreadsheet, in the kind of file that is asked for."""

from drf_spectacular.utils import OpenApiParameter

from studio.api.asked import asked_choice
from studio.tables import FORMATS

AS = OpenApiParameter("as", str, enum=list(FORMATS), default="csv")
TABLES = tuple(kind.partition(";")[0] for kind in FORMATS.values())


def asked_format(request) -> str:
    """Return the kind of file that is asked for, as it ends; any other is a 400."""
    return asked_choice(request, AS.name, FORMATS, "csv")
