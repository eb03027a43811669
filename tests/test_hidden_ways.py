"""Ways in that no form shows: query strings, headers, cookies, names of files, odd encodings."""

import json
from itertools import cycle
from urllib.parse import quote, urlencode

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import QueryDict
from django.test import Client, RequestFactory
from django.urls import reverse

from pricing.calendar.calendar_links import make_calendar_link
from pricing.models import Customer
from tests.factories.everything import one_of_everything
from tests.studio.test_routes import routes

pytestmark = pytest.mark.django_db

# The bytes of a lone surrogate, which are no UTF-8.
SURROGATE = "%ED%A0%80"
VALUES = {
    "NUL in text": "a%00b",
    "surrogate": SURROGATE,
    "400 digits": "9" * 400,
    "5000 digits": "9" * 5000,
    "superscript": quote("²"),
    "below zero": "-1",
    "year 1": "0001-01-01",
    "year 9999": "9999-12-31",
    "no number": "NaN",
}
HOSTILE = list(VALUES.values())
# What a page must be told to look at the rest, by the name that it is told under.
GOOD = {"size": "8x8x1.5in", "count": "2", "promised_on": "2026-05-31", "made_on": "2026-05-31"}
# The kind of row that a page's address begins with, where it is not called so.
ROWS = {
    "stock": "material",
    "ledger": "entry",
    "recipes": "recipe",
    "batches": "batch",
    "resin-kits": "kit",
    "tokens": "token",
}


def rows_of(one, segment):
    return getattr(one, ROWS.get(segment, segment.removesuffix("s")), None)


def addresses(one):
    """Yield the address of every page that a row of each kind, or nothing, fills in."""
    for path, pattern in routes():
        names = list(pattern.pattern.converters)
        if path.startswith(("api/", "sign-out")) or not pattern.name or path.startswith("^"):
            continue
        if not names:
            yield reverse(pattern.name)
        row = rows_of(one, path.split("/")[0])
        if len(names) == 1 and row and hasattr(row, names[0]):
            yield reverse(pattern.name, args=[getattr(row, names[0])])


@pytest.fixture
def asked(monkeypatch):
    """The names that pages ask query strings for; a query string asks itself for its own."""
    names = set()

    def spy(method):
        plain = getattr(QueryDict, method)

        def spied(self, key, *args):
            if method != "__contains__" or key not in GOOD:
                names.add(key)
            return plain(self, key, *args)

        monkeypatch.setattr(QueryDict, method, spied, raising=False)

    for method in ("get", "getlist", "__getitem__", "__contains__"):
        spy(method)
    return names


def names_asked(client, address, asked):
    """Return what an address asks its query string for, told nothing and told something."""
    asked.clear()
    client.get(address)
    client.get(address, GOOD)
    client.get(address, dict.fromkeys(asked, ""))
    return sorted({name for name in asked if isinstance(name, str)} - {"csrfmiddlewaretoken"})


def urls(address, names):
    """Yield addresses with each hostile value under all the names, and under each by itself."""
    for value in HOSTILE:
        yield f"{address}?" + "&".join(f"{quote(name)}={value}" for name in names)
    for name, value in zip(names, cycle(HOSTILE), strict=False):
        others = {key: text for key, text in GOOD.items() if key in names and key != name}
        yield f"{address}?{quote(name)}={value}&{urlencode(others)}"


def faults(client, addresses):
    """Return those addresses that are answered with a fault of the program."""
    client.raise_request_exception = False
    return [url[:120] for url in addresses if client.get(url).status_code >= 500]


def test_no_page_breaks_by_what_stands_in_its_query_string(owner, asked):
    pages = set(addresses(one_of_everything(owner.studio)))
    found, wrong = {}, []

    for address in sorted(pages):
        found[address] = names = names_asked(owner.client, address, asked)
        if names:
            wrong += faults(owner.client, urls(address, names))

    assert wrong == []
    asking = {address for address, names in found.items() if names}
    assert {"/stock/", "/bottles/", "/plan/", "/mixing/", "/reorder/", "/pours/new/"} <= asking
    assert {"page", "q", "kind"} <= set(found["/stock/"])
    assert {"size", "technique", "palette"} <= set(found["/plan/"])


def test_no_list_of_the_api_breaks_by_what_stands_in_its_query_string(owner, asked):
    one_of_everything(owner.studio)
    lists = [path for path, _ in routes() if path.startswith("api/v1/") and "<" not in path]
    wrong = []

    for path in lists:
        if names := names_asked(owner.api, f"/{path}", asked):
            wrong += faults(owner.api, urls(f"/{path}", names))

    assert wrong == []


@pytest.mark.parametrize(
    "headers",
    [
        {"HTTP_USER_AGENT": "a\x00b"},
        {"HTTP_REFERER": "http://testserver/\x00"},
        {"HTTP_ACCEPT": "\x00"},
        {"HTTP_ACCEPT_LANGUAGE": "\x00" * 9},
        {"HTTP_X_FORWARDED_FOR": "\x00"},
        {
            "HTTP_COOKIE": 'sessionid="\\000aaaaaaaaaaaa"'
        },  # in quotes an octal number is a character
        {"HTTP_COOKIE": 'csrftoken="\\000aaaaaaaaaaaa"'},
        {"HTTP_HX_REQUEST": "true", "HTTP_HX_CURRENT_URL": "\x00"},
    ],
    ids=lambda headers: json.dumps(headers),
)
def test_headers_and_cookies_break_nothing(headers):
    client = Client(raise_request_exception=False)

    page = client.get("/sign-in/?next=%2BANgA-", **headers)
    sent = client.post("/sign-in/", {"username": "a\x00b", "password": "x\x00"}, **headers)

    assert max(page.status_code, sent.status_code) < 500


@pytest.mark.parametrize("name", ["hex", "utf-7", "idna", "bz2", "\x00", "", "\xff"])
def test_the_name_of_an_encoding_breaks_nothing(name):
    from studio.wsgi import application

    answers = []
    kind = {"CONTENT_TYPE": f"application/x-www-form-urlencoded; charset={name}"}
    body = b"username=%2BANgA-&password=x"
    for method in ("GET", "POST"):
        asked = RequestFactory().generic(method, "/sign-in/?next=x", body)
        for _ in application(asked.environ | kind, lambda *said: answers.append(said)):
            pass

    assert [status[:3] for status, _ in answers] == ["200", "403"]  # a form without its token


def test_a_sign_in_that_fails_is_remembered_whatever_was_typed(stranger):
    for name in ("a\x00b", "\ud800", "\ufffe@\x1b.example", "x" * 5000):
        form = f"username={quote(name, errors='surrogatepass')}&password=wrong"
        kind = "application/x-www-form-urlencoded"
        for page in ("/sign-in/", "/admin/login/"):
            answer = stranger.client.post(page, form, kind, HTTP_USER_AGENT="a\x00" * 300)
            assert answer.status_code == 200


@pytest.mark.parametrize(
    "path", ["/bottles/%00/", "/join/%00/", "/q/a%00b/", "/calendar/%00.ics", "/%00"]
)
def test_a_page_whose_path_is_no_text_is_not_there(owner, path):
    assert owner.client.get(path).status_code == 404


def test_a_new_studio_and_its_owner_have_clean_names(stranger):
    answer = stranger.client.post(
        reverse("start"),
        {
            "studio_name": "Blue\x00 \u202eHeron\x0bStudio",
            "person": "Ana\x07\nMari\u0301a",
            "email": "ana@studio.example",
            "password": "three plain words",
        },
    )

    assert answer.status_code == 302
    user = answer.wsgi_request.user
    membership = user.memberships.get()
    assert (membership.studio.name, user.first_name) == ("Blue Heron Studio", "Ana María")


def test_an_address_of_an_invitation_is_clean(owner):
    owner.client.post(reverse("invite"), {"email": "mia\x01@studio.example\x00", "role": "maker"})

    assert owner.studio.invitations.get().email == "mia@studio.example"


@pytest.mark.parametrize("key", ["\x7f", "a\x80", "\x85b"])
def test_an_idempotency_key_is_printable(owner, key):
    answer = owner.api.post("/api/v1/customers/", {"name": "Ana"}, HTTP_IDEMPOTENCY_KEY=key)

    assert answer.status_code == 409
    assert "printable" in answer.data["detail"]


def test_the_api_keeps_what_a_form_keeps(owner):
    sent = {"name": "Cafe\u0301\x0b\ufffe \u202eblue\ud800\n", "notes": "a\r\n\x07b"}

    body = owner.api.post("/api/v1/customers/", json.dumps(sent), content_type="application/json")
    form = {name: text.replace("\ud800", "") for name, text in sent.items()}
    page = owner.client.post(reverse("customer-new"), form)

    assert body.status_code == 201
    assert page.status_code == 302
    rows = Customer.objects.filter(studio=owner.studio)
    assert [(row.name, row.notes) for row in rows] == [("Café blue", "a\nb")] * 2


@pytest.mark.parametrize(
    "body",
    [
        "[" * 5000 + "]" * 5000,
        '{"a":' * 5000 + "1" + "}" * 5000,
        '{"name": 1e999}',
        '{"name": ' + "9" * 5000 + "}",
        '{"name": NaN}',
        '{"name": "\\ud800"',
        b'{"name": "\xff"}',
    ],
    ids=["lists", "objects", "infinity", "long number", "NaN", "cut off", "no UTF-8"],
)
def test_json_that_cannot_be_read_is_refused_in_words(owner, body):
    answer = owner.api.post("/api/v1/customers/", body, content_type="application/json")

    assert answer.status_code == 400
    assert answer.data


def test_numbers_too_large_are_refused_by_the_field(owner):
    one = one_of_everything(owner.studio)
    for path, sent in (
        (f"packs/{one.pack.pk}/", {"minimum_count": 10**30}),
        (f"materials/{one.material.pk}/", {"shelf_life_days": 10**30}),
        (f"products/{one.product.pk}/", {"pieces_each": 10**12}),
        ("studio/", {"quote_days": 10**30}),
    ):
        answer = owner.api.patch(f"/api/v1/{path}", sent)
        assert (path, answer.status_code) == (path, 400)
        assert set(answer.data["fields"]) == set(sent)


def test_the_name_of_a_file_is_clean(owner):
    one = one_of_everything(owner.studio)
    table = SimpleUploadedFile(
        "a\u202eb\x07.csv", b"Name,Kind\nTeal,paint\n", content_type="text/csv"
    )

    page = owner.client.post(reverse("import", args=["materials"]), {"file": table})

    assert one.material
    assert page.status_code < 500
    assert "\u202e" not in page.content.decode()


@pytest.mark.parametrize(
    "name", [b"filename*=bogus''a", b"filename*=utf-7''%2BANgA-", b'filename="a\x00b"']
)
def test_a_file_named_in_an_odd_encoding_breaks_nothing(owner, name):
    body = (
        b'--x\r\nContent-Disposition: form-data; name="file"; '
        + name
        + b"\r\n\r\nName\n\r\n--x--\r\n"
    )
    owner.client.raise_request_exception = False

    for client, address in (
        (owner.client, reverse("import", args=["materials"])),
        (owner.api, "/api/v1/imports/materials/"),
    ):
        client.raise_request_exception = False
        sent = client.generic("POST", address, body, content_type="multipart/form-data; boundary=x")
        assert sent.status_code < 500


def test_a_calendar_link_is_read_whatever_asks(owner):
    one_of_everything(owner.studio)
    _, secret = make_calendar_link(studio=owner.studio, user=owner.user)

    assert Client().get(f"/calendar/{secret}.ics?x=%00", HTTP_USER_AGENT="\x00").status_code == 200
