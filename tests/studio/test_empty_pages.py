"""A new studio's pages: each that lists something says what for, and leads to its first entry."""

import re

import pytest
from django.urls import reverse

from pricing.costing.defaults import prepare_studio
from tests.addresses import PAGE, kind_of, pages
from tests.conftest import member
from tests.factories.studio import StudioFactory

pytestmark = pytest.mark.django_db
EMPTY = re.compile(r'<div class="empty">(.*?)</div>', re.DOTALL)
TITLE = re.compile(r"<h2>([^<]+)</h2>\s*<p>([^<]+)</p>")
# Where nothing is to be done, or what to do stands on the page itself.
DONE = {"Nothing needs you", "Nothing can be bought now", "Type a size"}


def empties(client):
    """Yield (address, title, sentence, link) of each empty list on a page without a row."""
    for path, _ in pages():
        if "<" in path or path.endswith((".pdf", ".csv", ".xlsx", ".zip")):
            continue
        answer = client.get(f"/{path}")
        if answer.status_code == 200 and kind_of(answer) == PAGE:
            for inside in EMPTY.findall(answer.content.decode()):
                title, sentence = TITLE.search(inside).groups()
                link = re.search(r'<a class="button" href="([^"]+)">', inside)
                yield path, title, sentence, link and link[1]


def leads_nowhere(client):
    """Return the addresses of empty lists whose button this person may not follow."""
    return {
        path
        for path, _, _, link in empties(client)
        if link and client.get(link, follow=True).status_code != 200
    }


def test_every_empty_list_says_what_for_and_leads_on():
    studio = StudioFactory()
    prepare_studio(studio)
    owner, viewer = member(studio, "owner").client, member(studio, "viewer").client

    seen = list(empties(owner))
    assert len(seen) > 20
    assert {path for path, title, _, link in seen if not link and title not in DONE} == set()
    assert {path for path, _, sentence, _ in seen if len(sentence) < 25} == set()
    assert leads_nowhere(owner) == leads_nowhere(viewer) == set()


def test_a_list_that_may_not_be_added_to_has_no_button():
    viewer = member(StudioFactory(), "viewer").client

    assert reverse("customer-new") not in viewer.get(reverse("customers")).content.decode()
