"""The log: a line a request, faults with their number, and no secrets or people in it."""

import io
import json
import logging
import logging.config
import re

import pytest
from django.conf import settings as product_settings
from django.db import IntegrityError
from django.test import Client
from django.urls import reverse

from pricing.calendar.calendar_links import make_calendar_link
from pricing.quoting import quote_links, quotes
from studio import logs, passwords, people
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.studio import MembershipFactory
from tests.pricing.commissions.test_commissions import add_tiles, opened

pytestmark = pytest.mark.django_db
PASSWORD = "velvet kettle orchard"


@pytest.fixture
def log():
    """Everything that the product would write as JSON, at its level in use."""
    written = io.StringIO()
    told = product_settings.LOGGING
    handler = logging.StreamHandler(written)
    handler.addFilter(logs.Clean())
    kind = {**told["formatters"]["json"]}
    handler.setFormatter(kind.pop("()") and logs.Json(**kind))
    root = logging.getLogger()
    before = root.level
    root.addHandler(handler)
    root.setLevel(logging.INFO)
    for name in told["loggers"]:
        logging.getLogger(name).setLevel(logging.INFO)
    yield lambda: [json.loads(line) for line in written.getvalue().splitlines()]
    root.removeHandler(handler)
    root.setLevel(before)
    logging.config.dictConfig(told)


@pytest.fixture
def secrets():
    """Open pages whose addresses are secrets, in every way that they can be opened."""
    bench = working_studio()
    owner = MembershipFactory(studio=bench.studio).user
    commission = opened(bench)
    add_tiles(bench, commission)
    quote = going_on.send_quote(quote=quotes.draft_quote(commission=commission, by=None), by=None)
    _, link = quote_links.make_link(quote=quote, by=None)
    _, invitation = people.invite(
        studio=bench.studio, by=owner, email="dee@example.com", role="maker"
    )
    _, feed = make_calendar_link(studio=bench.studio, user=owner)
    way_in = passwords.way_in(owner).removeprefix(product_settings.SITE_URL)
    browser = Client(raise_request_exception=False)
    for address in (f"/q/{link}/", f"/join/{invitation}/", f"/calendar/{feed}.ics", way_in):
        browser.get(address)
        browser.get(address + "x")  # no such page
        browser.get(address.rstrip("/"))  # leads on
        browser.put(address, {})  # not taken
        browser.get(f"{address[:-6]}zzzz/")  # a link that no longer works
    return [link, invitation, feed, way_in.split("/")[-2]]


def test_a_line_tells_each_request(owner, log):
    answer = owner.client.get(reverse("materials"), {"q": "blue"})

    (line,) = [one for one in log() if one["from"] == "studio.requests"]
    assert (line["method"], line["address"], line["status"]) == ("GET", "/stock/", 200)
    assert (line["user"], line["studio"]) == (owner.user.pk, owner.studio.pk)
    assert line["request"] == answer["X-Request-ID"]
    assert line["ms"] >= 0 and line["timestamp"]
    assert "blue" not in json.dumps(line)


def test_no_secret_of_a_link_is_written(log, secrets):
    written = json.dumps(log())

    assert len(log()) > 20
    for secret in secrets:
        assert secret not in written and secret[:-6] not in written
    assert "/q/<str:secret>/" in written


def test_no_name_and_no_address_is_written(log, studio):
    user = MembershipFactory(studio=studio, user__first_name="Wilhelmina").user
    user.set_password(PASSWORD)
    user.save()
    browser = Client()
    browser.post("/password/forgotten/", {"email": user.email})
    browser.post("/sign-in/", {"username": user.username, "password": "not it at all"})
    browser.post("/sign-in/", {"username": user.username, "password": PASSWORD})
    browser.get("/people/")

    written = json.dumps(log())
    assert "/sign-in/" in written
    for word in (user.email, user.email.split("@")[0], "Wilhelmina", PASSWORD, "not it at all"):
        assert word not in written


def test_who_is_locked_out_is_named_with_where_from(log, studio):
    user = MembershipFactory(studio=studio).user
    for _ in range(5):
        Client().post("/sign-in/", {"username": user.username, "password": "wrong"})

    (line,) = [one for one in log() if one["from"] == "studio.doors"]
    assert (line["name_tried"], line["from_address"]) == (user.username, "127.0.0.1")


def test_a_fault_is_found_by_the_number_on_its_page(owner, log, monkeypatch):
    def broken(*args, **kwargs):
        raise IntegrityError(
            "duplicate key value\nDETAIL:  Key (email)=(wren@example.com) already exists."
        )

    monkeypatch.setattr("inventory.buying.views.materials.page_of", broken)
    owner.client.raise_request_exception = False
    page = owner.client.get(reverse("materials"))

    number = re.search(r"<code>(\w+)</code>", page.content.decode())[1]
    lines = [one for one in log() if one["request"] == number]
    assert page["X-Request-ID"] == number
    (fault,) = [one for one in lines if "exc_info" in one]
    assert "IntegrityError: duplicate key value" in fault["exc_info"]
    assert "wren" not in json.dumps(lines) and "already exists" not in json.dumps(lines)


def test_the_line_asks_the_database_for_nothing(owner, log, django_assert_num_queries):
    with django_assert_num_queries(0):
        owner.client.get("/health/live")
    owner.api.get("/api/v1/materials/")

    live, listed = [one for one in log() if one["from"] == "studio.requests"]
    assert (live["user"], listed["user"]) == (None, owner.user.pk)


def test_two_requests_have_two_numbers(viewer):
    assert viewer.client.get("/")["X-Request-ID"] != viewer.client.get("/")["X-Request-ID"]


def test_a_stranger_does_not_choose_the_number(viewer):
    answer = viewer.client.get("/", headers={"X-Request-ID": "forged\nline"})

    assert re.fullmatch(r"[0-9a-f]{16}", answer["X-Request-ID"])


@pytest.mark.parametrize(
    ("text", "clean"),
    [
        ("Not Found: /q/abc_DEF-1/tiles/4/", "Not Found: /q/…"),
        ("GET /join/abc/ HTTP/1.1", "GET /join/… HTTP/1.1"),
        ("/password/new/MQ/abc-def/", "/password/new/…"),
        ("'/calendar/abc.ics'", "'/calendar/…'"),
        ("Key\nDETAIL:  Failing row contains (1, Wren).\nmore", "Key\nmore"),
        ("to ada.l+x@mail.example.com now", "to … now"),
        ("/stock/4/ and /calendar", "/stock/4/ and /calendar"),
    ],
)
def test_texts_of_others_are_cleaned(text, clean):
    assert logs.without_secrets(text) == clean
