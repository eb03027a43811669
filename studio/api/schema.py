"""The API's description of itself: tokens, safe repeats, refusals, pages."""

from drf_spectacular.contrib.knox_auth_token import KnoxTokenScheme
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiParameter, inline_serializer
from rest_framework import serializers

from studio.api.auth import least_role

KEY_PARAMETER = OpenApiParameter(
    "Idempotency-Key",
    str,
    OpenApiParameter.HEADER,
    description="Any text of up to 80 characters. A write sent again with the same key acts once.",
)
PROBLEM = {
    "type": "object",
    "properties": {"code": {"type": "string"}, "detail": {"type": "string"}},
    "required": ["code", "detail"],
}
REFUSALS = {
    "400": "What was sent cannot be read: each field at fault with its sentences.",
    "401": "No token, or one that no longer works.",
    "403": "The token's owner may not do this.",
    "404": "There is nothing at this address in the token's studio.",
    "409": "A refusal by the studio's own rules, in words; nothing was changed.",
}
# The largest whole numbers that SQLite and PostgreSQL keep.
DATABASE_LIMITS = (2**31 - 1, 2**63 - 1)
WRITES = ("POST", "PUT", "PATCH", "DELETE")


class StudioTokenScheme(KnoxTokenScheme):
    """Tokens stand in the header ``Authorization: Token …``."""

    target_class = "studio.api.auth.StudioTokenAuthentication"
    name = "token"


class StudioSchema(AutoSchema):
    """Names the key that makes each write safe to repeat, and the least role that may ask."""

    def get_override_parameters(self):
        return [KEY_PARAMETER] if self.method in WRITES else []

    def get_extensions(self):
        if not self.view.permission_classes:
            return {}
        return {"x-least-role": least_role(self.view, self.method)}


def add_refusals(result, generator, request, public):
    """Describe in each operation the refusals that any of them may give."""
    result["components"].setdefault("schemas", {})["Problem"] = PROBLEM
    for operations in result["paths"].values():
        for method, operation in operations.items():
            for status, words in REFUSALS.items():
                if status in ("400", "409") and method.upper() not in WRITES:
                    continue
                kind = {} if status == "400" else {"$ref": "#/components/schemas/Problem"}
                operation["responses"].setdefault(
                    status,
                    {"description": words, "content": {"application/json": {"schema": kind}}},
                )
    return result


def forget_the_database(result, generator, request, public):
    """Leave out the limits of whole numbers that only say which database is in use."""
    _forget(result["components"])
    return result


def _forget(part):
    if isinstance(part, list):
        for one in part:
            _forget(one)
    elif isinstance(part, dict):
        if part.get("maximum") in DATABASE_LIMITS:
            for name in ("maximum", "format"):
                part.pop(name, None)
            if -part.get("minimum", 0) - 1 in DATABASE_LIMITS:
                part.pop("minimum")
        for one in part.values():
            _forget(one)


def pages_of(serializer_class):
    """Return the shape of one page of ``serializer_class``, for ``extend_schema(responses=…)``."""
    return inline_serializer(
        name=f"Paged{serializer_class.__name__}",
        fields={
            "count": serializers.IntegerField(),
            "next": serializers.URLField(allow_null=True),
            "previous": serializers.URLField(allow_null=True),
            "results": serializer_class(many=True),
        },
    )
