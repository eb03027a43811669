"""Real Chromium against the live server, at the width of a phone and of a desk.

A test that takes ``page`` runs at both widths; one that needs only one says so:
``@pytest.mark.parametrize("page", ["desktop"], indirect=True)``.
"""

from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import sync_playwright

from tests.browser.chromium import chromium_path

NO_CHROMIUM = (
    "These tests need Chromium, and there is none. Install it with `apt-get install chromium` "
    "(Debian, Ubuntu) or `python -m playwright install chromium` (elsewhere)."
)
# Quiet and alone: nothing is fetched, reported or synchronised behind the test's back.
FLAGS = [
    "--no-sandbox",  # Chromium refuses to start as root with it, and tests visit only themselves
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
WIDTHS = {
    "phone": {
        "viewport": {"width": 390, "height": 844},
        "device_scale_factor": 2,
        "has_touch": True,
        "is_mobile": True,
    },
    "desktop": {"viewport": {"width": 1280, "height": 900}},
}


def pytest_collection_modifyitems(items):
    for item in items:
        # A test may bring a browser of its own, such as one that blocks cookies.
        if (
            "page" in getattr(item, "fixturenames", ())
            or Path(__file__).parent in item.path.parents
        ):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="package")
def browser():
    """One Chromium for all tests of this folder.

    Playwright keeps an event loop running in this thread, which Django takes for asynchronous code
    and refuses the database; so that guard is off for as long as the loop lives, and no longer.
    """
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        path = chromium_path(playwright)
        if path is None:
            pytest.fail(NO_CHROMIUM)
        browser = playwright.chromium.launch(executable_path=path, headless=True, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def live_server(django_db_setup, live_server):
    """The live server, made once the tests' database is there.

    Made before, it would take SQLite for one in memory and let all its threads share a connection.
    """
    return live_server


@pytest.fixture(params=list(WIDTHS))
def page(request, browser, live_server):
    """A fresh browser page whose addresses start at the live server.

    The test fails at its end if the page raised an error, complained in the console (about the
    content security policy, say), or asked another host for anything.
    """
    context = browser.new_context(base_url=live_server.url, **WIDTHS[request.param])
    context.set_default_timeout(10_000)
    page = context.new_page()
    faults = []
    page.on("pageerror", lambda error: faults.append(f"error: {error}"))
    page.on("console", lambda message: faults.extend(complaint(message)))
    page.on("request", lambda asked: faults.extend(foreign(asked.url, live_server.url)))
    yield page
    context.close()
    assert faults == []


@pytest.fixture
def sign_in(page, live_server):
    """Return a function that lets the page be used by a person, without the sign-in form."""

    def as_person(person):
        session = person.client.cookies["sessionid"].value
        page.context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
        return page

    return as_person


def complaint(message):
    """Yield an error in the console; refusals (409, 404) are for the tests themselves to judge."""
    if message.type == "error" and not message.text.startswith("Failed to load resource"):
        yield f"console: {message.text}"


def foreign(url, home):
    """Yield an address that is not the live server's."""
    if urlsplit(url).scheme not in ("data", "blob", "about") and not url.startswith(home):
        yield f"asked {url}"
