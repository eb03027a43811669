"""The first page: its fixed order, what each role sees of it, and what it asks the database."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted, opened

pytestmark = pytest.mark.django_db
# Quick answer; today's work; what stops it; what waits or is owed; first steps; what was earned.
ORDER = ["How much for an 8 × 8?", "work", "stops", "waits", "first-steps", "earned"]


@pytest.fixture
def bench():
    return working_studio()


def parts(person):
    page = person.client.get(reverse("home")).content.decode()
    main = page[page.index("<main") :]
    found = re.findall(r'<section[^>]* aria-label(?:ledby)?="([^"]+)"', main)
    return [part for part in found if not part.startswith("hand-")]


def test_the_first_page_has_its_order(bench):
    assert parts(member(bench.studio, "owner")) == ORDER
    assert parts(member(bench.studio, "viewer")) == ORDER[:4]


def test_what_waits_is_named_and_what_is_owed_for_those_who_see_prices(bench):
    asked, agreed = opened(bench), accepted(bench)
    owner = member(bench.studio, "owner").client.get(reverse("home"))
    viewer = member(bench.studio, "viewer").client.get(reverse("home"))

    for page in (owner, viewer):
        assert asked in page.context["enquiries"] and agreed not in page.context["enquiries"]
    assert [one.commission for one in owner.context["owing"]] == [agreed]
    assert viewer.context["owing"] == []


def test_last_month_and_this_one_are_told_apart(bench):
    months = member(bench.studio, "owner").client.get(reverse("home")).context["months"]

    (before, _, sold), (first, _, _) = months
    assert first == bench.studio.today().replace(day=1) > before and before.day == 1
    assert (first - before).days in (28, 29, 30, 31) and sold == 0


def test_the_first_page_asks_as_often_for_one_commission_as_for_three(bench):
    owner = member(bench.studio, "owner").client

    def asked():
        log(bench, line=accepted(bench).lines.first(), count=1, good_count=1)
        opened(bench)
        owner.get(reverse("home"))
        with CaptureQueriesContext(
            connection,
        ) as queries:
            owner.get(reverse("home"))
        return len(queries)

    counts = [asked() for _ in range(3)]
    assert counts[0] == counts[1] == counts[2], counts
