"""The customer's private link in real Chromium: every act that whoever holds it has."""

import json
from datetime import timedelta

import pytest
from playwright.sync_api import expect

from pricing.models import Commission, Quote, QuoteLink
from pricing.quoting import quote_links
from pricing.quoting import quotes as quoting
from studio import people
from tests.browser.chromium import chromium_path
from tests.browser.conftest import FLAGS, WIDTHS
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.pricing.commissions.test_commissions import add_tiles, opened

phone = pytest.mark.parametrize("page", ["phone"], indirect=True)


@pytest.fixture
def bench(transactional_db):
    return working_studio()


@pytest.fixture
def quote(bench):
    commission = opened(bench)
    add_tiles(bench, commission)
    return sent(commission)


@pytest.fixture
def address(quote):
    return link_to(quote)


def sent(commission):
    return going_on.send_quote(quote=quoting.draft_quote(commission=commission, by=None), by=None)


def link_to(quote):
    return f"/q/{quote_links.make_link(quote=quote, by=None)[1]}/"


def accept(page, name="Wren Alder"):
    page.get_by_label("Your name").first.fill(name)
    page.get_by_role("button", name="Accept for").click()


def decline(page, why):
    page.get_by_text("No, thank you").click()
    page.get_by_label("Your name").last.fill("Wren Alder")
    page.get_by_label("Why not?").fill(why)
    page.get_by_role("button", name="Decline").click()


def status_of(quote):
    return Quote.objects.get(pk=quote.pk).status


def test_a_customer_accepts(page, quote, address):
    page.goto(address)
    accept(page)

    expect(page.get_by_text("Accepted by Wren Alder")).to_be_visible()
    assert status_of(quote) == "accepted"
    assert page.url.endswith(address)


def test_a_customer_declines(page, quote, address):
    page.goto(address)
    decline(page, "Too late for the wedding")

    expect(page.get_by_text("Declined on")).to_be_visible()
    assert status_of(quote) == "declined"
    assert Quote.objects.get().answer_note == "Too late for the wedding"


@phone
def test_an_answer_without_a_name_or_a_reason_is_asked_for_and_then_taken(page, quote, address):
    page.goto(address)
    accept(page, name="")
    expect(page.get_by_text("This field is required.").first).to_be_visible()
    decline(page, "")
    expect(page.get_by_label("Why not?")).to_be_visible()
    page.get_by_label("Why not?").fill("Another colour after all")
    page.get_by_role("button", name="Decline").click()

    expect(page.get_by_text("Declined on")).to_be_visible()


@phone
def test_only_a_page_that_is_really_opened_counts_as_seen(page, quote, address):
    assert page.request.get(address).ok  # a messenger fetches it to draw a preview
    assert status_of(quote) == "sent"

    with page.expect_response("**/seen/"):
        page.goto(address)

    assert status_of(quote) == "viewed"
    accept(page)
    expect(page.get_by_text("Accepted by Wren Alder")).to_be_visible()


@phone
def test_the_paper_is_taken_along(page, quote, address):
    page.goto(address)
    href = page.get_by_role("link", name="The quote as a PDF").get_attribute("href")

    assert page.request.get(href).headers["content-type"] == "application/pdf"


@phone
def test_two_tabs_give_one_answer(page, quote, address):
    other = page.context.new_page()
    for tab in (page, other):
        tab.goto(address)
    accept(page)
    expect(page.get_by_text("Accepted by Wren Alder")).to_be_visible()
    decline(other, "Second thoughts")

    expect(other.get_by_role("alert")).to_contain_text("accepted, so it cannot be answered")
    expect(other.get_by_text("Accepted by Wren Alder")).to_be_visible()
    assert status_of(quote) == "accepted"


@phone
def test_going_back_and_accepting_again_is_the_same_answer(page, quote, address):
    page.goto(address)
    accept(page)
    expect(page.get_by_text("Accepted by Wren Alder")).to_be_visible()
    page.go_back()
    if page.get_by_role("button", name="Accept for").count():
        accept(page)

    expect(page.get_by_text("Accepted by Wren Alder")).to_be_visible()
    expect(page.get_by_role("alert")).to_have_count(0)
    assert Commission.objects.get().events.filter(status="accepted").count() == 1


@phone
def test_a_quote_that_ran_out_or_was_replaced_says_so(page, quote, address):
    with page.expect_response("**/seen/"):
        page.goto(address)
    Quote.objects.update(valid_until=quote.studio.today() - timedelta(days=1))
    accept(page)
    expect(page.get_by_role("alert")).to_contain_text("was valid until")
    expect(page.get_by_role("button", name="Accept for")).to_have_count(0)

    Quote.objects.update(valid_until=quote.studio.today() + timedelta(days=9))
    page.goto(address)
    newer = link_to(sent(quote.commission))
    accept(page)
    expect(page.get_by_text("replaced by a newer one")).to_be_visible()
    assert status_of(quote) == "superseded"

    page.goto(newer)
    accept(page)
    expect(page.get_by_text("Accepted by Wren Alder")).to_be_visible()


@phone
def test_a_link_that_is_closed_says_what_to_do(page, quote, address):
    with page.expect_response("**/seen/"):
        page.goto(address)
    QuoteLink.objects.update(expires_at=quote.created_at)
    accept(page)

    expect(page.get_by_text("Ask the studio for a new one")).to_be_visible()
    expect(page.get_by_role("button")).to_have_count(0)
    assert status_of(quote) == "viewed"


@pytest.mark.parametrize("answer", ["accepted", "declined"])
def test_a_browser_that_blocks_all_cookies_answers_too(
    browser, live_server, tmp_path, quote, address, answer
):
    settings = tmp_path / "Default" / "Preferences"
    settings.parent.mkdir()
    blocked = {"profile": {"default_content_setting_values": {"cookies": 2}}}
    settings.write_text(json.dumps(blocked), encoding="utf-8")
    context = browser.browser_type.launch_persistent_context(
        tmp_path,
        executable_path=browser_path(browser),
        headless=True,
        args=FLAGS,
        base_url=live_server.url,
        **WIDTHS["phone"],
    )
    page = context.new_page()
    page.goto("/sign-in/")
    assert context.cookies() == []  # this browser really keeps none
    page.goto(address)
    if answer == "accepted":
        accept(page)
        expect(page.get_by_text("Accepted by Wren Alder")).to_be_visible()
    else:
        decline(page, "Too late")
        expect(page.get_by_text("Declined on")).to_be_visible()
    context.close()

    assert status_of(quote) == answer


def browser_path(browser):
    class Found:
        chromium = browser.browser_type

    return chromium_path(Found)


@phone
def test_an_invitation_is_taken_up(page, bench):
    owner = member(bench.studio, "owner").user
    _, secret = people.invite(studio=bench.studio, by=owner, email="dee@else.example", role="maker")

    page.goto(f"/join/{secret}/")
    page.get_by_label("Your name").fill("Dee")
    page.get_by_label("Password").first.fill("tilted-tray-7")
    page.get_by_role("main").get_by_role("button").last.click()

    expect(page.get_by_text(f"Welcome to {bench.studio}")).to_be_visible()
