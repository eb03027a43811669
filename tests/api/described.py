"""A client of the API that holds every answer against the description.

The description is OpenAPI 3.1, so its schemas are JSON Schema 2020-12 and `jsonschema` reads them.
"""

import re
from functools import cache

from django.urls import Resolver404, resolve
from drf_spectacular.generators import SchemaGenerator
from jsonschema import Draft202012Validator, FormatChecker
from rest_framework.test import APIClient

ANY_VERSION = "*"


@cache
def description():
    """Return what the API says of itself, with objects that have no more than they say."""
    told = SchemaGenerator().get_schema(request=None, public=True)
    for component in told["components"]["schemas"].values():
        if component.get("properties") and component is not told["components"]["schemas"]["Page"]:
            component.setdefault("unevaluatedProperties", False)
    return told


@cache
def _operations():
    """Return the operations of each path, its parameters without their names."""
    return {re.sub(r"{\w+}", "{}", path): told for path, told in description()["paths"].items()}


@cache
def _validator(place):
    whole = {"$ref": place, "components": description()["components"]}
    return Draft202012Validator(whole, format_checker=FormatChecker())


def operation_of(method, path):
    """Return the operation of an address and how it is called, or None where there is none."""
    try:
        route = re.sub(r"<[^>]+>", "{}", "/" + resolve(path).route)
    except Resolver404:
        return None
    told = _operations().get(route, {}).get(method.lower())
    return (told, f"{method} {route}") if told else None


def faults(method, path, response):
    """Yield what an answer has that the description has not, or the other way round."""
    found = operation_of(method, path)
    if found is None:
        return
    told, name = found
    status, kind = response.status_code, response.get("Content-Type", "").partition(";")[0]
    if status >= 400:
        if kind != "application/problem+json":
            yield f"{name}: a refusal ({status}) as {kind}"
        else:
            yield from _faults("#/components/schemas/Problem", response.json(), name)
        return
    if str(status) not in told["responses"]:
        yield f"{name}: {status} is not described"
        return
    content = told["responses"][str(status)].get("content", {})
    if not content:
        if getattr(response, "content", b""):
            yield f"{name}: something is answered where nothing is described"
    elif kind not in content:
        yield f"{name}: answered as {kind}, described as {', '.join(content)}"
    elif kind == "application/json":
        yield from _faults_of(content[kind]["schema"], response.json(), name)


def _faults_of(schema, data, name):
    if "$ref" in schema:
        yield from _faults(schema["$ref"], data, name)
        return
    whole = schema | {"components": description()["components"]}
    checked = Draft202012Validator(whole, format_checker=FormatChecker())
    yield from (_words(error, name) for error in checked.iter_errors(data))


def _faults(place, data, name):
    yield from (_words(error, name) for error in _validator(place).iter_errors(data))


def _words(error, name):
    return f"{name}: {'/'.join(map(str, error.absolute_path))}: {error.message[:300]}"


class DescribedClient(APIClient):
    """Asks as a program does that follows the description, and checks what comes back.

    Changes bear ``If-Match: *`` unless a test says otherwise.
    """

    def generic(self, method, path, *args, **options):
        headers = dict(options.pop("headers", None) or {})
        if method.upper() in ("PATCH", "PUT", "DELETE") and "HTTP_IF_MATCH" not in options:
            headers = {"If-Match": ANY_VERSION} | headers
        return super().generic(method, path, *args, headers=headers, **options)

    def request(self, **request):
        response = super().request(**request)
        path, method = request["PATH_INFO"], request["REQUEST_METHOD"]
        if path.startswith("/api/") and response.status_code < 500 and method != "OPTIONS":
            found = list(faults(method, path, response))
            assert not found, found
        return response
