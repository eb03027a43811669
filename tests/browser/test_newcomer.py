"""A new user, from the sign-up page to the first price and the first quote sent: counted."""

from decimal import Decimal

import pytest
from playwright.sync_api import expect

from studio.models import Studio

pytestmark = pytest.mark.django_db(transaction=True)
MOST_PAGES, MOST_FIELDS, MOST_PAGES_TO_A_QUOTE = 15, 25, 20


class Newcomer:
    """Somebody at a browser: every page that is shown and every field that is filled in counts."""

    def __init__(self, page):
        self.page, self.pages, self.fields = page, 0, 0
        page.on("domcontentloaded", self._went_on)

    def _went_on(self, _):
        self.pages += 1

    def types(self, label, text):
        self.fields += 1
        self.page.get_by_label(label).fill(text)

    def ticks(self, label):
        self.fields += 1
        self.page.get_by_label(label).check()

    def chooses(self, label, value):
        self.fields += 1
        self.page.get_by_label(label).select_option(value)

    def presses(self, name):
        self.page.get_by_role("button", name=name).click()

    def follows(self, name):
        self.page.get_by_role("link", name=name).click()


@pytest.mark.parametrize("page", ["phone"], indirect=True)
def test_a_newcomer_has_a_price_and_sends_a_quote(page):
    me = Newcomer(page)

    page.goto("/start/")
    me.types("Name of the studio", "Tide & Tilt")
    me.types("Your name", "Mo")
    me.types("E-mail address", "mo@tide.example")
    me.types("Password", "seven wet tiles drying")
    me.presses("Open the studio")

    me.chooses("Where do you work?", "us")
    me.ticks("Coasters for hot cups")
    me.presses("Go on")
    me.ticks("4¼ × 4¼ × ¼ in")
    me.types("hour of work", "20")
    me.presses("Go on")

    for what, count in (("Tile", "24"), ("Matt white", "1.5"), ("Pouring medium", "0.5")):
        me.types(f"How many: {what}", count)
    me.types("Parts of A", "1")
    me.types("Parts of B", "1")
    me.chooses("By volume or by weight?", "volume")
    me.types("Takes heat up to", "95")
    me.types("Full cure after", "168")
    me.presses("Put it in")

    asked = page.locator("main > form input[name^=price_]:visible")
    expect(asked).to_have_count(5)
    for place, price in enumerate(("0.60", "38", "16", "22", "6.50")):
        me.fields += 1
        asked.nth(place).fill(price)
    me.presses("See the price")

    expect(page.get_by_role("row", name="Price, before tax")).to_be_visible()
    expect(page.get_by_text("of this price rests on prices not yet known")).to_be_visible()
    expect(page.get_by_text("are our guess, no source")).to_be_visible()
    to_price = me.pages, me.fields

    me.follows("Make it a commission")
    me.types("Or a new customer's name", "Wren Alder")
    me.presses("Save and price it")
    me.presses("Number it and mark as sent")

    expect(page.get_by_role("heading", name="Quote 1")).to_be_visible()
    quote = Studio.objects.get().quotes.get()
    assert (quote.number, quote.gross > Decimal(0)) == (1, True)
    assert to_price[0] <= MOST_PAGES
    assert to_price[1] <= MOST_FIELDS
    assert me.pages <= MOST_PAGES_TO_A_QUOTE
    page.goto("/")
    expect(page.get_by_text("Your first steps")).to_have_count(0)
    print(f"first price: {to_price[0]} pages, {to_price[1]} fields; quote: {me.pages} pages")
