"""From a size to the customer's link, to the reorder sheet and to the profit: taps and fields.

The acts at the bench are counted in `test_at_hand`. Fewer is better, so a limit is only lowered.
"""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.test_story import heading, pdf_text
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.bench.test_pours import log
from tests.taps import Taps

pytestmark = pytest.mark.parametrize("page", ["phone"], indirect=True)
QUICK = {"taps": 0, "fields": 1}
TO_THE_LINK = {"taps": 4, "fields": 1}
REORDER = {"taps": 2, "fields": 0}
PROFIT = {"taps": 1, "fields": 0}


@pytest.fixture
def bench(transactional_db):
    bench = working_studio()
    log(bench, count=4, good_count=4)
    return bench


@pytest.fixture
def hand(page, sign_in, bench):
    sign_in(member(bench.studio, "owner")).goto("/")
    return Taps(page)


def test_a_size_is_answered_on_one_screen_and_becomes_a_link(page, hand, bench):
    """Typed, it changes no address; and from there the customer's link is four taps away."""
    before = page.evaluate("history.length")
    hand.type(page.get_by_label("Size"), "8x8")

    answer = page.locator("#answer")
    for words in ("Ask", "Costs", "On the shelf", "Could be ready", "Base coat", "All paint"):
        expect(answer).to_contain_text(words)
    assert hand.within(**QUICK), hand
    assert page.evaluate("history.length") == before and page.url.endswith("/")
    bottom = page.get_by_role("navigation", name="Main").last.bounding_box()["y"]
    go_on = answer.get_by_role("link", name="Make it a commission")
    assert page.evaluate("scrollY") == 0
    assert go_on.bounding_box()["y"] + go_on.bounding_box()["height"] <= bottom

    hand = Taps(page)
    hand.tap(go_on)
    hand.type(page.get_by_label("Or a new customer's name"), "Ilse Moor")
    hand.tap(page.get_by_role("button", name="Save and price it"))
    hand.tap(page.get_by_role("button", name="Number it and mark as sent").first)
    hand.tap(page.get_by_role("button", name="Make a private link"))

    link = page.locator("#secret").text_content().strip()
    assert hand.within(**TO_THE_LINK), hand
    page.goto(re.sub(r"^https?://[^/]+", "", link))
    expect(page.get_by_role("main")).to_contain_text("8 × 8 in")


def test_the_reorder_sheet(page, hand, bench):
    bench.white.reorder_point = 100_000  # mL, far more than there is
    bench.white.save()
    hand.tap(page.get_by_role("main").get_by_role("link", name="What to buy").first)
    heading(page, "What to buy")
    hand.taps += 1  # the link that is read here instead of tapped
    assert str(bench.white) in pdf_text(page, "Reorder sheet PDF")
    assert hand.within(**REORDER), hand


def test_profit_per_set(page, hand):
    hand.tap(page.get_by_role("link", name="Profit per set"))
    heading(page, "Profit")
    assert hand.within(**PROFIT), hand
