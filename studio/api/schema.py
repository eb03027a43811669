"""The API's description of itself: tokens, safe repeats, versions, refusals, pages."""

import re
from inspect import getdoc
from typing import Any

from drf_spectacular.contrib.knox_auth_token import KnoxTokenScheme
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.types import OpenApiTypes
from rest_framework import serializers

from studio.api.auth import least_role, sights_of
from studio.api.shared_parts import HEADERS, PAGE, PROBLEM, REFUSALS
from studio.api.viewsets import Added, Asked, Changed, Removed, StudioViewSet

DECIMAL = re.compile(r"\{0,\d+\}(?:\(\?:\\\.\\d\{0,(\d+)\}\)\?)?\$$")
# The largest whole numbers that SQLite and PostgreSQL keep.
DATABASE_LIMITS = (2**31 - 1, 2**63 - 1)
WRITES = ("POST", "PUT", "PATCH", "DELETE")
VERBS = {"create": "add", "retrieve": "read", "partial_update": "change", "destroy": "put_away"}
SERVICES = {
    "create": ("add", Added),
    "partial_update": ("change", Changed),
    "destroy": ("remove", Removed),
}
SENTENCES = {
    "list": "List them.",
    "retrieve": "Read one of the {}.",
    "create": "Add to the {}.",
    "partial_update": "Change one of the {}.",
    "destroy": "Put one of the {} away; what refers to it keeps it.",
}


class StudioTokenScheme(KnoxTokenScheme):
    """Tokens stand in the header ``Authorization: Token …``."""

    target_class = "studio.api.auth.StudioTokenAuthentication"
    name = "token"


class StudioSchema(AutoSchema):
    """Describes viewsets by what they and their acts say of themselves."""

    @property
    def _viewset(self) -> StudioViewSet | None:
        return self.view if isinstance(self.view, StudioViewSet) else None

    @property
    def _handler(self) -> Any:
        return getattr(self.view, getattr(self.view, "action", None) or "", None)

    def get_operation_id(self) -> str:
        if (view := self._viewset) is None:
            return super().get_operation_id()
        name = view.action
        if name == "destroy" and isinstance(view, Removed):
            name = "remove"
        return "_".join([*_plural(view).split(), VERBS.get(name, name)])

    def get_description(self) -> str:  # type: ignore[override]  # as the generator asks for it
        view = self._viewset
        if view is None or view.action not in SENTENCES:
            return super().get_description()
        description = (getattr(self._handler, "__doc__", None) or _service_told(view)).strip()
        if view.action == "list":
            description = description or getdoc(type(view)) or ""
            if dated_by := getattr(view, "dated_by", ""):
                description += f" A period is of {dated_by.replace('__', '.')}."
        return description or SENTENCES[view.action].format(_plural(view))

    def get_request_serializer(self) -> Any:
        if (view := self._viewset) is None:
            return super().get_request_serializer()
        if view.action in ("create", "update"):
            return getattr(self._handler, "takes", None) or view.takes
        if view.action == "partial_update":
            return view.takes(partial=view.partial)
        return getattr(self._handler, "takes", None)

    def get_response_serializers(self) -> Any:
        if (view := self._viewset) is None:
            return super().get_response_serializers()
        handler = self._handler
        if media_types := getattr(handler, "media_types", None):
            return {(200, one): OpenApiTypes.BINARY for one in media_types}
        if view.action == "destroy":
            return {204: None}
        gives = getattr(handler, "gives", None) or view.out
        if view.is_listing():
            return {200: gives(many=True)}
        usual = 201 if view.action == "create" else 200
        status = getattr(handler, "status", usual)
        return {status: None if status == 204 else gives}

    def _map_serializer_field(
        self, field: serializers.Field, direction: str, bypass_extensions: bool = False
    ) -> Any:
        if direction == "response" and isinstance(field, serializers.ChoiceField):
            field.allow_blank = field.allow_blank or _may_be_blank(field)
        return super()._map_serializer_field(field, direction, bypass_extensions)

    def get_filter_backends(self) -> Any:
        view = self._viewset
        return view.filter_backends if view and view.action == "list" else []

    def _get_paginator(self) -> Any:
        if self._viewset and not self._viewset.is_listing():
            return None
        return super()._get_paginator()

    def get_override_parameters(self) -> list[Asked | serializers.Serializer]:
        return list(self._viewset.parameters_asked()) if self._viewset else []

    def get_extensions(self) -> dict[str, Any]:
        if not self.view.permission_classes:
            return {}
        sights = sights_of(self.view, self.method)
        role = least_role(self.view, self.method)
        if sights and role == "viewer":  # who sees none of them
            role = "maker"
        return {"x-least-role": role} | ({"x-sights": list(map(str, sights))} if sights else {})

    def _map_basic_serializer(self, serializer: Any, direction: str) -> dict[str, Any]:
        """Mark what not every member sees by its kind, as what may be missing."""
        told = super()._map_basic_serializer(serializer, direction)
        for name, sight in getattr(serializer, "sights", {}).items():
            if name in told["properties"]:
                told["properties"][name] = {**told["properties"][name], "x-sight": str(sight)}
            if direction == "response" and name in told.get("required", ()):
                told["required"].remove(name)
        return told

    def get_operation(
        self, path: str, path_regex: str, path_prefix: str, method: str, registry: Any
    ) -> dict[str, Any] | None:
        operation = super().get_operation(path, path_regex, path_prefix, method, registry)
        if operation is None or not self.view.permission_classes:
            return operation
        shared = ["IdempotencyKey"] if method in WRITES else []
        if self._viewset and self._viewset.action in ("partial_update", "update", "destroy"):
            shared.append("IfMatchNeeded")
        elif self._viewset and method in WRITES and "{" in path:
            shared.append("IfMatch")
        own = operation.get("parameters", [])
        said_once = {one["name"]: key for key, one in HEADERS.items() if one["in"] == "query"}
        shared += [said_once[one["name"]] for one in own if one["name"] in said_once]
        own = [one for one in own if one["name"] not in said_once]
        refs = [{"$ref": f"#/components/parameters/{name}"} for name in shared]
        if own or refs:
            operation["parameters"] = own + refs
        return operation


def _plural(view: StudioViewSet) -> str:
    return (view.basename or "").removeprefix("api-").replace("-", " ")


def _service_told(view: StudioViewSet) -> str:
    """Return what a viewset says of its own way to add or change a row."""
    if view.action not in SERVICES:
        return ""
    name, base = SERVICES[view.action]
    own = getattr(type(view), name, None)
    return own.__doc__ or "" if own is not getattr(base, name, None) else ""


def _may_be_blank(field: serializers.Field) -> bool:
    """Tell whether a row may have nothing where the serializer of what goes out has a choice."""
    model = getattr(getattr(field.parent, "Meta", None), "model", None)
    if model is None or "." in (field.source or "") or field.source == "*":
        return False
    column = {one.name: one for one in model._meta.concrete_fields}.get(field.source)
    return column is not None and column.blank


def add_refusals(
    result: dict[str, Any], generator: SchemaGenerator, request: Any, public: bool
) -> dict[str, Any]:
    """Describe in each operation the refusals that any of them may give, once for all."""
    shared = result["components"]
    shared.setdefault("schemas", {})["Problem"] = PROBLEM
    shared["parameters"] = HEADERS
    kind = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}
    shared["responses"] = {"Refused": {"description": REFUSALS, "content": kind}}
    for operations in result["paths"].values():
        for operation in operations.values():
            operation["responses"]["4XX"] = {"$ref": "#/components/responses/Refused"}
    return result


def forget_the_database(
    result: dict[str, Any], generator: SchemaGenerator, request: Any, public: bool
) -> dict[str, Any]:
    """Leave out the limits of whole numbers that come from the database and not from a rule."""
    _forget(result["components"])
    return result


def allow_no_address(
    result: dict[str, Any], generator: SchemaGenerator, request: Any, public: bool
) -> dict[str, Any]:
    """Say of no e-mail address that goes out that it is one: it may be left empty."""
    for name, component in result["components"]["schemas"].items():
        if not name.endswith("Request"):
            for one in component.get("properties", {}).values():
                if one.get("format") == "email":
                    del one["format"]
    return result


def say_once(
    result: dict[str, Any], generator: SchemaGenerator, request: Any, public: bool
) -> dict[str, Any]:
    """Move what operations and rows of amounts repeat into shared components."""
    schemas = result["components"]["schemas"]
    schemas["Page"] = PAGE
    result["security"] = [{"token": []}]
    for path in result["paths"].values():
        for operation in path.values():
            if operation.get("security") == result["security"]:
                del operation["security"]
            for one in operation.get("parameters", ()):
                if one.get("description", "").startswith("* `"):  # the choices once more
                    del one["description"]
    for name, component in list(schemas.items()):
        for key, one in component.get("properties", {}).items():
            if len(one.get("allOf", ())) == 1:  # beside a reference other words may stand
                one |= one.pop("allOf")[0]
            if name.endswith("Request"):
                continue
            one.pop("readOnly", None)
            component["properties"][key] = _shared_decimal(one, schemas)
    return result


def _shared_decimal(schema: dict[str, Any], schemas: dict[str, Any]) -> dict[str, Any]:
    """Return a property that goes out, an amount as a reference to those of as many decimals."""
    match = DECIMAL.search(schema.get("pattern", ""))
    if match is None or schema.get("format") != "decimal":
        return schema
    places = int(match[1] or 0)
    name = f"Decimal{places}"
    tail = rf"\.[0-9]{{{places}}}" if places else ""
    schemas[name] = {
        "type": "string",
        "pattern": f"^-?[0-9]+{tail}$",
        "description": f"A decimal number of {places} places, as text.",
    }
    reference = {"$ref": f"#/components/schemas/{name}"}
    is_nullable = "null" in schema["type"]
    return {"oneOf": [reference, {"type": "null"}]} if is_nullable else reference


def _forget(part: Any) -> None:
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
