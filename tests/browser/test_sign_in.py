"""The first page anybody sees, in a real browser."""

from playwright.sync_api import expect

from studio.people import open_with_new_account

PASSWORD = "seven wet tiles drying"


def test_an_owner_signs_in_and_finds_the_studio(page):
    open_with_new_account(
        email="owner@example.com", password=PASSWORD, person="Owner", name="Tidewater Tiles"
    )

    page.goto("/sign-in/")
    page.get_by_label("E-mail").fill("owner@example.com")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()

    expect(page.get_by_text("Tidewater Tiles").first).to_be_visible()


def test_a_signed_in_page_fits_its_width(page, sign_in, owner):
    sign_in(owner).goto("/more/")

    expect(page.get_by_role("heading", level=1)).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
