"""The acts of every day from the first page, each held to a limit of taps and typed fields.

Fewer is better, so a limit is only ever lowered.
"""

from decimal import Decimal as D

import pytest
from playwright.sync_api import expect

from inventory.buying import purchasing
from inventory.stock.books import check
from inventory.stock.labels import address_of
from tests.browser.test_story import choose, heading
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.inventory import PurchaseOrderFactory
from tests.pricing.commissions.test_commissions import accepted, opened
from tests.taps import Taps

pytestmark = pytest.mark.parametrize("page", ["phone"], indirect=True)
POUR = {"taps": 2, "fields": 0}
WEIGH = {"taps": 2, "fields": 1}
WEIGH_BY_CODE = {"taps": 3, "fields": 2}
DELIVERY = {"taps": 2, "fields": 0}
PASSWORD = "wet-tiles-drying"


@pytest.fixture
def bench(transactional_db):
    return working_studio()


@pytest.fixture
def home(page, sign_in, bench):
    """Return a function that opens the first page and a hand that counts from there."""

    def begun():
        sign_in(member(bench.studio, "maker", sees_costs=True)).goto("/")
        return Taps(page), page.get_by_role("main")

    return begun


def opened_bottle(bench):
    bottle = bench.studio.bottles.get(material=bench.blue)
    bottle.opened_on, bottle.tare_g = bench.studio.today(), D(50)
    bottle.save()
    return bottle


def test_a_pour_of_the_next_accepted_work(page, home, bench):
    commission = accepted(bench)
    hand, main = home()
    line = commission.lines.first()

    hand.tap(main.get_by_role("link", name=str(line.surface)))
    hand.tap(page.get_by_role("button", name="Log the pour"))

    heading(page, "Pour 1")
    pour = bench.studio.pours.get()
    assert hand.within(**POUR), hand
    assert (pour.line, pour.count) == (line, line.pieces)
    assert pour.minutes > 0 and pour.layers.count() == 3
    assert check() == []


def test_a_bottle_on_the_scale(page, home, bench):
    bottle = opened_bottle(bench)
    hand, main = home()

    hand.tap(main.get_by_role("link", name=bottle.code))
    hand.type(page.get_by_label("The scale shows"), "160")
    hand.tap(page.get_by_role("button", name="Set by weight"))

    heading(page, bottle.code)
    assert hand.within(**WEIGH), hand
    bottle.refresh_from_db()
    assert bottle.remaining == 100  # 110 g without the empty bottle, at 1.1 g/mL


def test_a_bottle_by_the_code_on_its_label(page, home, bench):
    bottle = opened_bottle(bench)
    hand, main = home()

    hand.type(main.get_by_label("A bottle's code"), bottle.code.lower())
    hand.enter()
    heading(page, bottle.code)
    hand.tap(main.get_by_role("link", name="Weigh"))
    hand.type(page.get_by_label("The scale shows"), "160")
    hand.tap(page.get_by_role("button", name="Set by weight"))

    expect(main).to_contain_text("100 mL")
    assert hand.within(**WEIGH_BY_CODE), hand


def test_a_delivery_as_ordered(page, home, bench):
    pack = bench.studio.packs.get(material=bench.white)
    order = PurchaseOrderFactory(studio=bench.studio, supplier=pack.supplier)
    purchasing.add_line(order=order, pack=pack, count=2)
    purchasing.send_order(order=order, by=None)
    hand, main = home()

    hand.tap(main.get_by_role("link", name=str(order.supplier)))
    hand.tap(page.get_by_role("button", name="Put on the shelf"))

    expect(main).to_contain_text("Received")
    assert hand.within(**DELIVERY), hand
    assert bench.studio.bottles.filter(pack=pack).count() == 2
    assert check() == []


def test_a_label_that_the_phone_scans_opens_its_bottle_after_signing_in(page, bench):
    bottle = opened_bottle(bench)
    user = member(bench.studio, "maker").user
    user.set_password(PASSWORD)
    user.save()

    page.goto(address_of(bottle))
    page.get_by_label("E-mail address").fill(user.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()

    heading(page, bottle.code)
    main = page.get_by_role("main")
    for act in ("Weigh", "Use"):
        expect(main.get_by_role("link", name=act, exact=True)).to_be_in_viewport()
    empty = main.get_by_role("button", name="It is empty")
    expect(empty).to_be_in_viewport()
    empty.click()
    expect(main).to_contain_text(f"{bottle.code} now holds nothing.")
    bottle.refresh_from_db()
    assert bottle.remaining == 0
    assert check() == []


def test_a_palette_is_made_in_between_and_the_key_that_sends_still_saves(page, sign_in, bench):
    commission = opened(bench)
    sign_in(member(bench.studio, "maker")).goto(f"/commissions/{commission.number}/pieces/new/")
    choose(page, "Technique", "Bloom")
    choose(page, "What it is for", "To look at")
    size, name = page.get_by_label("Or another size"), page.get_by_label("Name")
    size.fill("8 x 8 in")
    page.get_by_role("button", name="New palette").click()
    heading(page, "New palette")
    name.fill("Dawn")
    choose(page, "Base coat", "base")
    choose(page, "Colour mix", "gold_mix")
    name.press("Enter")  # of the buttons it means the one that saves

    heading(page, "Add pieces")
    expect(page.get_by_label("Palette")).to_have_value(
        str(bench.studio.palettes.get(name="Dawn").pk)
    )
    expect(size).to_have_value("8 x 8 in")
    expect(page.locator(".has-error")).to_have_count(0)
    size.press("Enter")

    heading(page, commission.title)
    assert commission.lines.get().palette.name == "Dawn"
