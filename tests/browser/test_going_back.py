"""Going back to a form that was saved, and steps that end a piece of work."""

import pytest
from playwright.sync_api import expect

from pricing.models import Commission, Customer
from tests.browser.test_story import heading, press
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.commissions.test_commissions import opened


@pytest.fixture
def bench(transactional_db):
    return working_studio()


def test_back_and_save_makes_a_customer_once(page, sign_in, bench):
    before = Customer.objects.count()
    sign_in(member(bench.studio, "owner")).goto("/customers/new/")
    page.get_by_label("Name").fill("Juniper Hale")
    press(page, "Save")
    heading(page, "Customers")

    page.go_back()
    page.get_by_label("Name").fill("Juniper Hale")
    press(page, "Save")

    expect(page.get_by_text("This was sent before")).to_be_visible()
    assert Customer.objects.count() == before + 1
    page.goto("/customers/new/")  # a page opened anew is another act
    page.get_by_label("Name").fill("Juniper Hale")
    press(page, "Save")
    heading(page, "Customers")
    assert Customer.objects.count() == before + 2


@pytest.mark.parametrize("page", ["phone"], indirect=True)
def test_back_and_go_on_makes_a_commission_and_its_customer_once(page, sign_in, bench):
    before = Customer.objects.count()
    sign_in(member(bench.studio, "maker")).goto("/commissions/new/")

    def ask():
        page.get_by_label("new customer's name").fill("Juniper Hale")
        page.get_by_label("What it is").fill("A tray")
        press(page, "Go on")

    ask()
    heading(page, "Add pieces")
    page.go_back()
    ask()

    expect(page.get_by_text("This was sent before")).to_be_visible()
    assert (Commission.objects.count(), Customer.objects.count()) == (1, before + 1)


def test_declining_takes_an_explicit_choice(page, sign_in, bench):
    asked = opened(bench)
    sign_in(member(bench.studio, "maker")).goto(f"/commissions/{asked.number}/")

    page.get_by_role("link", name="Mark as declined").click()
    expect(page.get_by_text("A quote that is out is closed")).to_be_visible()
    asked.refresh_from_db()
    assert asked.status == "enquiry"
    page.get_by_role("link", name="Cancel", exact=True).click()
    page.get_by_role("link", name="Mark as declined").click()
    page.get_by_label("Note").fill("Too late")
    press(page, "Mark as declined")

    expect(page.get_by_role("link", name="Open it again")).to_be_visible()
    asked.refresh_from_db()
    assert asked.status == "declined"
