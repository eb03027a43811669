"""Whatever is sent to whatever address, however: an answer in words, never an error of ours.

The addresses come from the configuration, filled in for a row of each kind, so that none can be
forgotten.
"""

import json
import re
from functools import cache
from itertools import cycle
from types import SimpleNamespace

import pytest
from django.db import transaction
from django.urls import reverse

from tests.api.described import operation_of
from tests.api.routes import INNER, KEYS, methods_of
from tests.factories.everything import one_of_everything
from tests.studio.test_routes import routes, sample
from tests.test_architecture import MAY_NOT_IMPORT, ROOT, modules

METHODS = ("GET", "HEAD", "OPTIONS", "POST", "PUT", "PATCH", "DELETE", "TRACE")
DEEP = b'{"a":' * 5_000 + b"1" + b"}" * 5_000
JSON, FORM = "application/json", "application/x-www-form-urlencoded"
PROBLEM = "application/problem+json"
MULTIPART = "multipart/form-data; boundary=x"
# Content type and body, of which none is what any address waits for.
BODIES = (
    (JSON, b""),
    (JSON, b"[]"),
    (JSON, b"[[]]"),
    (JSON, b"null"),
    (JSON, b"1"),
    (JSON, b'"x"'),
    (JSON, b"{}"),
    (JSON, b"NaN"),
    (JSON, b'{"a": 1e999}'),
    (JSON, b"9" * 5_000),
    (JSON, b"{"),
    (JSON, b"\xff\xfe{"),
    (JSON, b'{"a": "\\ud800"}'),
    (JSON, DEEP),
    (JSON, b"[" * 500 + b"]" * 500),
    (FORM, b"a=%FF&b=%00&a=1"),
    (FORM, b"&".join([b"a=1"] * 3_000)),
    (MULTIPART, b"--x\r\nContent-Disposition: form-data; name="),
    ("multipart/form-data", b"x"),
    ("text/plain", b"x"),
    ("application/xml", b"<a/>"),
    ("nonsense", b"x"),
    ("application/json; charset=nonsense", b"{}"),
)
# What stands in the address of a page, by the part before it, where the API calls it otherwise.
PAGES = {
    "stock": ("material", "pk"),
    "ledger": ("entry", "pk"),
    "costing": ("costing_change", "pk"),
    "off": ("day_off", "pk"),
    "calendar": ("calendar_link", "pk"),
}
INNER_ROWS = {**INNER, "commissions/pieces": "line", "pours/topcoat": "topcoating"}
NAMED = ("pk", "code", "slug")  # what a row is named by, as it is called in an address
# What an address is asked for beside its path, wherever the code looks for it.
ASKED = re.compile(r"(?:GET|query_params)(?:\.get|\.getlist)?[(\[]\"([a-z_]+)\"")
HOSTILE = ("%00", "9" * 30, "-1", "%FF%FE", "x" * 60_000, "%E2%80%AE", "1e999", "")

ALL = list(routes())


@pytest.fixture
def people(studio, owner, maker, viewer, stranger):
    one = one_of_everything(studio)
    one.membership = owner.membership
    people = SimpleNamespace(owner=owner, maker=maker, viewer=viewer, stranger=stranger)
    people.addresses = [(filled(path, pattern, one), pattern) for path, pattern in ALL]
    return people


def ask(person, method, address, content_type=JSON, body=b"", **more):
    """Ask in a way of which the framework's test client makes nothing safe, and undo it."""
    client = person.api if address.startswith("/api/") else person.client
    client.raise_request_exception = False
    with transaction.atomic():
        answer = client.generic(method, address, body, content_type=content_type, **more)
        transaction.set_rollback(True)
    return answer


def fault(answer, method, address):
    """Return what is wrong with an answer, or None."""
    if method == "HEAD" and answer.status_code == 405 and "GET" in answer.headers["Allow"]:
        return "HEAD is refused where GET is taken"
    if answer.status_code >= 500:
        return answer.status_code
    if address.startswith("/api/") and answer.status_code >= 400 and answer.content:
        if not answer.headers.get("Content-Type", "").startswith(PROBLEM):
            return f"{answer.status_code} in {answer.headers.get('Content-Type')}"
        json.loads(answer.content)
    return None


def filled(path, pattern, one):
    """Return an address of a route with real rows in it, as far as one stands for what it names."""
    arguments, before = {}, []
    names = iter(pattern.pattern.converters)
    for part in path.removeprefix("api/v1/").split("/"):
        if "<" not in part:
            before.append(part)
            continue
        name = next(names, None)
        row, key = KEYS.get(before[-1], PAGES.get(before[-1], (None, None)))
        inner = "/".join(before[-2:])
        if inner in INNER_ROWS:
            row, key = INNER_ROWS[inner], "pk"
        if row is None or name is None:
            return sample(path, pattern)
        arguments[name] = getattr(getattr(one, row), name if name in NAMED else key)
    if len(arguments) < len(pattern.pattern.converters):
        return sample(path, pattern)
    return reverse(pattern.name, kwargs=arguments) if pattern.name else sample(path, pattern)


def writes(pattern, method):
    """Tell whether a route takes what is sent to it with a method."""
    is_api = hasattr(pattern.callback, "cls") and hasattr(pattern.callback.cls, "read_role")
    return method.lower() in methods_of(pattern) if is_api else method == "POST"


def faults(asked):
    """Return what went wrong, once each: (method, address, person, what was sent) and the fault."""
    found = {}
    for person, method, address, content_type, body in asked:
        wrong = fault(ask(person, method, address, content_type, body), method, address)
        if wrong is not None:
            found.setdefault((method, address, wrong), body[:40])
    return found


def test_every_method_is_answered(people):
    """An owner asks every way but GET, which HEAD is; others ask every address in one, by turns."""
    asked = [
        (people.owner, method, address, JSON if address.startswith("/api/") else FORM, b"")
        for address, _ in people.addresses
        for method in METHODS
        if method != "GET"
    ]
    turn = cycle((method, *sent) for method in METHODS for sent in BODIES)
    asked += [
        (person, method, address, content_type, body)
        for address, _ in people.addresses
        for person in (people.maker, people.viewer, people.stranger)
        for method, content_type, body in [next(turn)]
    ]

    assert faults(asked) == {}


def test_every_body_is_answered(people):
    asked = [
        (people.owner, method, address, content_type, body)
        for address, pattern in people.addresses
        for method in ("POST", "PUT", "PATCH", "DELETE")
        if writes(pattern, method)
        for content_type, body in BODIES
        if address.startswith("/api/")
        or content_type.split(";")[0] in (FORM, "multipart/form-data")
    ]

    assert len(asked) > 3_000
    assert faults(asked) == {}


def names_asked(address):
    """Return the names that an address may ask by: the API's as described, a page's from the code.

    What no endpoint asks by is refused, so that nothing else would be met.
    """
    if address.startswith("/api/"):
        told, _ = operation_of("GET", address) or ({}, "")
        names = {one.get("name") for one in told.get("parameters", ())} - {None}
        return sorted(names | ({"page", "page_size"} if pages(told) else set()))
    return names_in_code()


def pages(told):
    """Tell whether an operation answers in pages."""
    return {"$ref": "#/components/parameters/Page"} in told.get("parameters", ())


@cache
def names_in_code():
    """Return every name that the code looks for in an address, and those of forms that are GETs."""
    code = "".join(
        (ROOT / path).read_text(encoding="utf-8") for app in MAY_NOT_IMPORT for path in modules(app)
    )
    return sorted({*ASKED.findall(code), "q", "page", "page_size", "size", "count", "hours"})


def test_every_address_may_be_asked_for_anything(people):
    values = cycle(HOSTILE)
    named = {address: names_asked(address) for address, _ in people.addresses}
    asked = [
        (people.owner, "GET", f"{address}?{questions}", JSON, b"")
        for address, names in named.items()
        for together in ([[name] for name in names] if "/api/" in address else [names])
        for value in [next(values)]
        for questions in ["&".join(f"{name}={value}" for name in together)]
    ]

    assert len({name for names in named.values() for name in names}) > 40
    assert faults(asked) == {}


@pytest.mark.parametrize("words", ("x" * 60_000, "%00", "%" * 3, "\\"))
def test_lists_may_be_searched_for_anything(owner, words):
    addresses = ["/stock/", "/bottles/", "/ledger/", "/customers/", "/api/v1/materials/"]
    addresses += ["/api/v1/bottles/", "/api/v1/suppliers/", "/api/v1/customers/"]

    answers = [
        (owner.api if "/api/" in address else owner.client).get(
            address, {"search" if "/api/" in address else "q": words}
        )
        for address in addresses
    ]

    assert {answer.status_code for answer in answers} <= {200, 400}


def test_every_page_that_can_be_looked_at_takes_head(stranger):
    """As RFC 9110, 9.3.2 has it: HEAD says what GET says, and leaves out the answer itself.

    Which methods there are is settled before who asks; where it is not, `fault` sees it.
    """
    addresses = [sample(path, pattern) for path, pattern in routes()]
    told = {
        address: [ask(stranger, method, address).status_code for method in ("GET", "HEAD")]
        for address in addresses
    }

    assert {address: codes for address, codes in told.items() if codes[0] != codes[1]} == {}
    assert sum(codes[0] != 405 for codes in told.values()) > 200


@pytest.mark.parametrize(
    ("method", "address", "more", "status"),
    (
        ("GET", "/api/v1/nowhere/", {}, 404),
        ("GET", "/api/", {}, 404),
        ("DELETE", "/api/v1/docs/", {}, 405),
        ("OPTIONS", "/api/v1/docs/", {}, 405),
        ("OPTIONS", "/api/v1/schema/", {}, 405),
        ("GET", "/api/v1/studio/", {"HTTP_HOST": "elsewhere.example"}, 400),
        ("GET", "/api/v1/studio/", {"HTTP_HOST": "a b"}, 400),
        ("GET", "/api/v1/studio/%00", {}, 404),
    ),
)
def test_what_no_endpoint_answers_is_refused_in_json(owner, method, address, more, status):
    answer = ask(owner, method, address, **more)

    assert (answer.status_code, answer.headers["Content-Type"]) == (status, PROBLEM)
    assert set(json.loads(answer.content)) == {"type", "title", "status", "code", "detail"}


def test_a_refusal_by_method_still_says_which_methods_there_are(owner):
    assert ask(owner, "DELETE", "/api/v1/docs/").headers["Allow"] == "GET, HEAD"


def test_a_failure_below_the_api_is_told_in_json(owner, monkeypatch):
    monkeypatch.setattr("studio.api.endpoints.StudioEndpoint.out", None)

    answer = ask(owner, "GET", "/api/v1/studio/")

    assert (answer.status_code, json.loads(answer.content)["code"]) == (500, "error")


@pytest.mark.parametrize(
    ("body", "status", "code"),
    (
        (DEEP, 400, "parse_error"),
        (b"[" * 21 + b"]" * 21, 400, "parse_error"),
        (b'{"name": "' + b"x" * 5_300_000 + b'"}', 413, "too_large"),
    ),
)
def test_bodies_are_bounded(owner, body, status, code):
    answer = ask(owner, "PATCH", "/api/v1/studio/", JSON, body)

    assert (answer.status_code, json.loads(answer.content)["code"]) == (status, code)
