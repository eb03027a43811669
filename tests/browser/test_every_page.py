"""Every page that there is, in a browser: it fits, it loads whole, and axe finds no fault in it.

The pages come from the address configuration, each at a row that a studio has. The check looks at
them as on a phone in daylight; with ``PICTURES=folder`` they are looked at light and dark, on a
phone and on a desk, and a picture of each is left in the folder.
"""

import os
from pathlib import Path

import pytest
from axe_playwright_python.base import AXE_FILE_PATH

from studio.errors import StudioError
from tests.addresses import PAGE, pages
from tests.browser.conftest import WIDTHS
from tests.factories import world as worlds
from tests.walk import Browser, one_of_each

pytestmark = pytest.mark.browser
FOLDER = os.environ.get("PICTURES", "")
LOOKS = [("phone", "light")]
if FOLDER:
    LOOKS = [(width, scheme) for scheme in ("light", "dark") for width in WIDTHS]
# What a page may not do in WCAG 2.1, A and AA.
RULES = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]},
    "resultTypes": ["violations"],
}
FAULTS_BY_AXE = """async (rules) => (await axe.run(document, rules)).violations.map(
    (one) => one.id + ': ' + one.nodes.map((node) => node.target.join(' ')).join(', ')
)"""
# What a page filled in and a browser would not let be sent: a step, a most, a pattern.
REFUSED_BY_BROWSER = """() => [...document.querySelectorAll('input, select, textarea')].filter(
    (one) => one.willValidate && one.value && !one.validity.valid && !one.validity.valueMissing
).map((one) => `${one.name}: ${one.value} (${one.validationMessage})`)"""


@pytest.fixture
def world(transactional_db):
    return worlds.world()


class Window:
    """One person's browser window with one look, that tells what went wrong on each page."""

    def __init__(self, browser, home, who, look):
        width, scheme = look
        self.home, self.name = home, f"{width}-{scheme}"
        self.context = browser.new_context(base_url=home, color_scheme=scheme, **WIDTHS[width])
        self.context.set_default_timeout(20_000)
        self.context.add_init_script(path=AXE_FILE_PATH)
        if "sessionid" in who.client.cookies:
            session = who.client.cookies["sessionid"].value
            self.context.add_cookies([{"name": "sessionid", "value": session, "url": home}])
        self.page = self.context.new_page()
        self.faults = []
        self.page.on("pageerror", lambda error: self.faults.append(f"error: {error}"))
        self.page.on("console", self._console)
        self.page.on("requestfailed", self._failed)
        self.page.on("response", self._response)

    def _console(self, message):
        # A page that is refused is told apart by its status.
        if message.type == "error" and not message.text.startswith("Failed to load resource"):
            self.faults.append(f"console: {message.text}")

    def _failed(self, asked):
        if asked.failure != "net::ERR_ABORTED":  # what the window gave up when it went on
            self.faults.append(f"{asked.failure}: {asked.url}")

    def _response(self, answer):
        is_page = answer.request.is_navigation_request()
        if answer.status >= 400 and not is_page:
            self.faults.append(f"{answer.status}: {answer.url}")
        if not answer.url.startswith((self.home, "data:", "blob:")):
            self.faults.append(f"asked {answer.url}")

    def open(self, address, status=200):
        self.faults.clear()
        answer = self.page.goto(address)
        if answer.status != status:
            self.faults.append(f"status {answer.status}")

    def look(self, name):
        """Return the faults of the page that is open, after leaving its picture."""
        self.faults += self.page.evaluate(FAULTS_BY_AXE, RULES)
        self.faults += self.page.evaluate(REFUSED_BY_BROWSER)
        # A phone's own window grows with what is too wide for it.
        wide = self.page.evaluate("document.documentElement.scrollWidth")
        if (over := wide - self.page.viewport_size["width"]) > 0:
            self.faults.append(f"{over} px too wide")
        if FOLDER:
            path = Path(FOLDER) / self.name / f"{name.replace('/', '-')}.png"
            self.page.screenshot(path=path, full_page=True)
        return list(self.faults)


@pytest.fixture
def windows(browser, live_server, look):
    """Return a function from a `tests.walk.Browser` to its window, the same one each time."""
    opened = {}

    def window(who):
        if who not in opened:
            opened[who] = Window(browser, live_server.url, who, look)
        return opened[who]

    yield window
    for one in opened.values():
        one.context.close()


@pytest.fixture(params=LOOKS, ids="-".join)
def look(request):
    return request.param


def test_every_page_can_be_read_and_loads_whole(world, windows):
    found = one_of_each(world)
    faults = {}

    for name, one in found.items():
        if one.kind == PAGE:
            window = windows(one.who)
            window.open(one.address)
            if wrong := window.look(name):
                faults[one.address] = wrong

    assert {pattern.name for _, pattern in pages()} <= found.keys()
    assert faults == {}


def test_every_page_of_a_fault_can_be_read(world, windows, monkeypatch):
    nobody, owner = Browser(), Browser(world.user)
    viewer = Browser(worlds.viewer(world))
    faults = {}

    def shown(who, address, status, name):
        window = windows(who)
        window.open(address, status)
        if wrong := window.look(name):
            faults[name] = wrong

    for who, name in ((nobody, "nobody"), (owner, "owner")):
        shown(who, "/nowhere/", 404, f"404-{name}")
        shown(who, "/q/no-such-link/", 404, f"404-quote-{name}")
        shown(who, "/join/no-such-link/", 404, f"404-invitation-{name}")
    shown(viewer, "/settings/", 403, "403-role")
    for error, status in ((StudioError("Nothing is priced yet. Add a pack."), 409), (OSError, 500)):
        with monkeypatch.context() as patch:
            patch.setattr("inventory.supplies.views.suppliers.page_of", raises(error))
            shown(owner, "/suppliers/", status, f"{status}-page")

    window = windows(nobody)
    window.open("/sign-in/")
    window.context.clear_cookies()
    _sign_in(window.page, "ada@lanternfish.example")
    assert "Please send it again" in window.page.title()
    faults["403-token"] = window.look("403-token")
    for _ in range(6):
        window.open("/sign-in/")
        _sign_in(window.page, "locked@lanternfish.example")
    assert "Too many tries" in window.page.title()
    faults["locked-out"] = window.look("locked-out")

    assert {name: wrong for name, wrong in faults.items() if wrong} == {}


def _sign_in(page, email):
    page.get_by_label("E-mail").fill(email)
    page.get_by_label("Password").fill("not this one")
    page.get_by_role("button", name="Sign in").click()


def raises(error):
    def act(*_, **__):
        raise error

    return act
