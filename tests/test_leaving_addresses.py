"""Addresses that leave the site, printed or to be copied: whose they are, and who is warned."""

import re

import pytest
from django.core.management import call_command
from django.urls import reverse

from pricing.quoting.quotes import send_quote
from studio import outbox
from studio.models import Mail
from studio.site import address
from tests.conftest import member
from tests.factories.everything import one_of_everything
from tests.inventory.pages import words
from tests.inventory.stock.test_labels import codes_read

ASKED_AT = "localhost"  # a Host that is answered, and is not the site's own
ONLY_HERE = "only on this computer: not on a phone, and not for anybody else"
ONLY_HOME = "only in your own network"


@pytest.fixture
def one(studio):
    one = one_of_everything(studio)
    send_quote(quote=one.quote, by=None, reason="Agreed as it is")
    return one


def printed(one, browser, program):
    """Yield the addresses in codes on papers, from pages and from the API."""
    labels = {"bottle": one.bottle.code, "stock": "single-62x29"}
    for who, path, asked in (
        (browser, reverse("labels-sheet"), labels | {"which": "ticked"}),
        (program, "/api/v1/labels/", labels),
        (browser, reverse("set-care-pdf", args=[one.set.number]), {}),
        (program, f"/api/v1/sets/{one.set.number}/care/", {}),
        (browser, reverse("pour-care-pdf", args=[one.pour.number]), {}),
    ):
        answer = who.get(path, asked, HTTP_HOST=ASKED_AT)
        assert answer["Content-Type"] == "application/pdf", path
        codes = codes_read(answer.content)
        assert codes, path
        yield from (text for text, *_ in codes)


def shown(one, browser, program):
    """Yield the addresses to be copied, from pages and from the API."""
    secret = re.compile(r'<code class="secret" id="\w+">([^<]+)</code>')
    invited = {"email": "wren@shore.example", "role": "viewer"}
    for path, sent in (
        (reverse("invite"), invited),
        (reverse("quote-link", args=[one.quote.pk]), {}),
        (reverse("calendar-link"), {}),
    ):
        page = browser.post(path, sent, HTTP_HOST=ASKED_AT).content.decode()
        yield secret.search(page)[1]
        assert ASKED_AT not in page, path
    for path in (f"/api/v1/quotes/{one.quote.pk}/link/", "/api/v1/calendar-links/"):
        yield program.post(path, {}, HTTP_HOST=ASKED_AT).json()["url"]


def test_an_address_that_leaves_is_the_sites_own_whatever_it_was_asked_at(studio, one, settings):
    owner = member(studio, "owner")

    found = [*printed(one, owner.client, owner.api), *shown(one, owner.client, owner.api)]

    assert len(found) >= 10
    assert [text for text in found if not text.startswith("http://site.example/")] == []


def warned(one, browser):
    """Yield (name, text, whether it is for people elsewhere) of each page that must warn."""
    yield "labels", browser.get(reverse("labels")), False
    yield "set", browser.get(reverse("set-care", args=[one.set.number])), False
    yield "pour", browser.get(reverse("pour-care", args=[one.pour.number])), False
    yield "schedule", browser.get(reverse("schedule")), True
    yield "feed", browser.post(reverse("calendar-link")), True
    yield "quote", browser.get(reverse("quote", args=[one.quote.pk])), True
    yield "link", browser.post(reverse("quote-link", args=[one.quote.pk])), True
    yield "alerts", browser.get(reverse("alerts")), True
    invited = {"email": "wren@shore.example", "role": "viewer"}
    yield "invited", browser.post(reverse("invite"), invited), True


@pytest.mark.parametrize(
    ("url", "here", "home"),
    [
        ("http://127.0.0.1:8000", True, False),
        ("http://kiln.local:8000", False, True),
        ("https://studio.example", False, False),
    ],
)
def test_every_page_of_such_addresses_warns_while_they_do_not_reach_far(
    studio, one, settings, url, here, home
):
    settings.SITE_URL = url
    owner = member(studio, "owner").client

    for name, page, for_people_elsewhere in warned(one, owner):
        assert page.status_code == 200, name
        assert (ONLY_HERE in words(page)) is here, name
        assert (ONLY_HOME in words(page)) is (home and for_people_elsewhere), name


def test_a_mail_says_so_too_where_a_link_is_in_it(db, settings):
    settings.SITE_URL = "http://127.0.0.1:8000"
    said = {"about": Mail.About.ALERTS, "to": "ana@kelp.example", "subject": "White"}
    html = "<body><p>Out.</p></body>"

    linked = outbox.write(text=f"Out. {address('/alerts/')}\n", html=html, **said)
    plain = outbox.write(text="Out.\n", **said)
    settings.SITE_URL = "https://studio.example"
    far = outbox.write(text=f"Out. {address('/alerts/')}\n", html=html, **said)

    assert linked.text.endswith(f"/alerts/\n\n{outbox.ONLY_HERE}\n")
    assert linked.html == f"<body><p>Out.</p><p>{outbox.ONLY_HERE}</p></body>"
    assert outbox.ONLY_HERE not in plain.text + far.text + far.html


def test_a_link_printed_for_who_runs_the_site_says_so_too(owner, settings, capsys):
    settings.SITE_URL = "http://localhost:8000"
    call_command("new_password", owner.user.username)
    near = capsys.readouterr()
    settings.SITE_URL = "https://studio.example"
    call_command("new_password", owner.user.username)
    far = capsys.readouterr()

    assert near.out.startswith("http://localhost:8000/")
    assert "opens only on this computer" in near.err
    assert far.out.startswith("https://studio.example/")
    assert far.err == ""
