"""Every address says who may use it, and keeps to it."""

import re

import pytest
from django.urls import URLPattern, get_resolver, reverse
from django.urls.resolvers import RegexPattern

SAMPLES = {"int": 1, "str": "x", "slug": "x", "uuid": "5b2b1b5e-0000-4000-8000-000000000000"}
ROLES = ("owner", "maker", "viewer")
OPEN = ("anyone", "link holder")


def routes(patterns=None, prefix=""):
    """Yield every pattern of the product with its path; Django's own admin guards itself."""
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        path = prefix + str(pattern.pattern)
        if path.startswith("admin/"):
            continue
        if isinstance(pattern, URLPattern):
            yield path, pattern
        else:
            yield from routes(pattern.url_patterns, path)


def sample(path, pattern):
    """Return an address that matches, with an id that no row has."""
    for name, converter in pattern.pattern.converters.items():
        kind = type(converter).__name__.removesuffix("Converter").lower().replace("string", "str")
        path = path.replace(f"<{kind}:{name}>", str(SAMPLES[kind])).replace(f"<{name}>", "x")
    if isinstance(pattern.pattern, RegexPattern):
        path = re.sub(r"\(\?P<\w+>([^)|]*)[^)]*\)", first_choice, path).strip("^$")
    return f"/{path}"


def first_choice(group):
    return group[1] if group[1].isalpha() else "x"


def roles_of(pattern):
    view = getattr(pattern.callback, "view_class", None) or getattr(pattern.callback, "cls", None)
    if actions := getattr(pattern.callback, "actions", None):
        return {view.role_of(name, method) for method, name in actions.items()}
    if hasattr(view, "read_role"):
        return {view.read_role, view.write_role}
    return {getattr(pattern.callback, "role", None) or getattr(view, "role", None)}


ALL = list(routes())
IDS = [path for path, _ in ALL]
GUARDED = [(path, pattern) for path, pattern in ALL if not roles_of(pattern) <= set(OPEN)]


@pytest.mark.parametrize(("path", "pattern"), ALL, ids=IDS)
def test_every_route_says_who_may_use_it(path, pattern):
    assert roles_of(pattern) <= {*ROLES, *OPEN, "signed in"}


@pytest.mark.parametrize(("path", "pattern"), GUARDED, ids=[path for path, _ in GUARDED])
def test_a_stranger_is_sent_to_sign_in_or_told_to_bring_a_token(stranger, path, pattern):
    address = sample(path, pattern)
    client = stranger.api if address.startswith("/api/") else stranger.client

    answers = [client.get(address), client.post(address)]

    told = {(answer.status_code, answer.headers.get("Location")) for answer in answers}
    refused = (401, None) if client is stranger.api else (302, f"/sign-in/?next={address}")
    assert refused in told
    assert told - {refused} <= {(405, None)}  # where only the other method is known


# method, name and argument of each member page of this floor, with the least role that may use it
PAGES = [
    ("get", "more", None, "viewer"),
    ("get", "studios", None, "viewer"),
    ("get", "tokens", None, "viewer"),
    ("get", "studio-settings", None, "owner"),
    ("post", "studio-settings", None, "owner"),
    ("get", "people", None, "owner"),
    ("get", "invite", None, "owner"),
    ("post", "invite", None, "owner"),
    ("post", "change-role", 1, "owner"),
    ("post", "remove-member", 1, "owner"),
    ("post", "withdraw-invitation", 1, "owner"),
    ("get", "api-studio", None, "viewer"),
    ("patch", "api-studio", None, "owner"),
    ("get", "api-people-list", None, "owner"),
    ("patch", "api-people-detail", 1, "owner"),
    ("delete", "api-people-detail", 1, "owner"),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("method", "name", "pk", "least"), PAGES)
@pytest.mark.parametrize("role", ROLES)
def test_a_role_below_the_least_is_refused(request, role, method, name, pk, least):
    person = request.getfixturevalue(role)
    client = person.api if name.startswith("api-") else person.client
    allowed = ROLES.index(role) <= ROLES.index(least)

    status = getattr(client, method)(reverse(name, args=[pk] if pk else [])).status_code

    assert (status != 403) == allowed


def test_a_page_refused_says_who_may(viewer):
    response = viewer.client.get("/settings/")

    assert f"Only an owner of {viewer.studio} can do this" in response.content.decode()


def test_nothing_there_is_a_404_with_words(owner):
    response = owner.client.get("/nowhere/")

    assert response.status_code == 404
    assert "leads nowhere" in response.content.decode()
