"""Pages that answer while one types: what they show, and what Back then does."""

import re

import pytest
from playwright.sync_api import expect

from tests.conftest import member
from tests.factories.bench import working_studio

# address, label of the field, what is typed, what then stands on the page
PAGES = [
    ("/plan/", "Size", "20 x 30 cm", "Base coat"),
    ("/stock/", "Find", "gold", "gold"),
    ("/bottles/", "Find", "white", "white"),
    ("/ledger/", "Find entries", "canvas", "canvas"),
]


@pytest.fixture
def maker(transactional_db):
    return member(working_studio().studio, "maker", sees_costs=True)


@pytest.mark.parametrize("page", ["desktop"], indirect=True)
@pytest.mark.parametrize(("address", "label", "typed", "shown"), PAGES)
def test_typing_adds_no_step_to_the_history(page, sign_in, maker, address, label, typed, shown):
    sign_in(maker).goto("/more/")
    page.goto(address)
    before = page.evaluate("history.length")
    content = page.get_by_role("main")

    for letter in typed:  # slowly enough for an answer each
        with page.expect_response(lambda one: address in one.url):
            page.get_by_label(label, exact=True).first.press_sequentially(letter)

    expect(content.get_by_text(shown).first).to_be_visible()
    # What is shown can be kept as a bookmark; the address follows the answer.
    expect(page).to_have_url(re.compile(rf"[=+ 0-9x%]{typed.split()[-1]}(&|$)"))
    assert page.evaluate("history.length") == before
    page.get_by_role("navigation").first.get_by_role("link").first.click()
    expect(page).not_to_have_url(re.compile(address))  # gone, before going back
    page.go_back()
    expect(page.get_by_label(label, exact=True).first).to_have_value(typed)
    expect(content.get_by_text(shown).first).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_be_visible()  # the whole page, not a part
    page.go_back()
    expect(page).to_have_url("/more/")


def test_the_planner_greets_with_nothing_wrong(page, sign_in, maker):
    sign_in(maker).goto("/plan/")

    expect(page.get_by_text("This field is required.")).to_have_count(0)
    expect(page.locator(".has-error")).to_have_count(0)
    expect(page.get_by_text("Type a size")).to_be_visible()
    page.get_by_role("combobox", name="Size").fill("2")
    expect(page.get_by_role("main")).to_contain_text("Size:")
    page.get_by_role("combobox", name="Size").fill("")
    expect(page.get_by_text("Type a size")).to_be_visible()
