"""The whole story in real Chromium, from an enquiry to the profit of each set."""

import re
from decimal import Decimal as D
from io import BytesIO

import pytest
from django.test import Client
from playwright.sync_api import expect
from pypdf import PdfReader

from inventory.stock.books import check
from pricing.demo import shop
from tests.conftest import Person
from tests.factories.going_on import REASON


def press(page, name):
    page.get_by_role("button", name=name, exact=True).click()


def follow(page, name):
    page.get_by_role("main").get_by_role("link", name=name).first.click()


def choose(page, label, option):
    """Choose the option whose text contains ``option``; select boxes list long names."""
    box = page.get_by_role("combobox", name=label).first  # not what explains the word
    value = box.locator("option", has_text=option).first.get_attribute("value")
    box.select_option(value)


def heading(page, words):
    expect(page.get_by_role("heading", level=1)).to_contain_text(words)


def pdf_text(page, name):
    """Fetch the PDF a link leads to, as the person signed in, and read its text back."""
    link = page.get_by_role("main").get_by_role("link", name=name).first.get_attribute("href")
    answer = page.request.get(link)
    assert answer.headers["content-type"] == "application/pdf"
    pages = PdfReader(BytesIO(answer.body())).pages
    return " ".join(" ".join(one.extract_text().split()) for one in pages)


def add_pieces(page, size, how_many, each, packing, topcoat="", use="For hot drinks"):
    choose(page, "A size you keep", size)
    choose(page, "Technique", "Bloom")
    choose(page, "Palette", "Harbour dusk")
    page.get_by_label("How many").fill(str(how_many))
    page.get_by_label("Pieces in each").fill(str(each))
    if topcoat:
        choose(page, "Resin topcoat", topcoat)
    choose(page, "Packed in", packing)
    choose(page, "What it is for", use)
    press(page, "Add")


# On a phone, where most of it happens; the pages themselves are looked at in both widths.
@pytest.mark.parametrize("page", ["phone"], indirect=True)
def test_from_an_enquiry_to_profit_per_set(page, sign_in):
    studio, user = shop.build(seed=1)
    client = Client()
    client.force_login(user)
    sign_in(Person(user, studio, client, None))

    # The enquiry, by size, technique and palette.
    page.goto("/commissions/")
    follow(page, "New commission")
    page.get_by_label("new customer's name").fill("Wren Alder")
    page.get_by_label("What it is").fill("Coasters and a canvas")
    press(page, "Go on")
    add_pieces(page, "Ceramic tile", 2, 4, "Coaster box", topcoat="Clear coating resin")
    follow(page, "Add pieces")
    add_pieces(page, "Canvas", 1, 1, "Canvas sleeve", use="To look at")

    # Paint by layer and by material, what is short, and a price.
    content = page.get_by_role("main")
    for words in ("Base coat", "Colours", "Cell activator", "Topcoat", "Matt white wall paint"):
        expect(content).to_contain_text(words)
    expect(content).to_contain_text("short")
    follow(page, "Work out the price")
    press(page, "Work out the price")
    expect(content).to_contain_text("Where the money goes")
    press(page, "Number it and mark as sent")
    heading(page, "Quote 1")
    quote = studio.quotes.get()
    paper = pdf_text(page, "Quote PDF")
    assert "Quote 1" in paper
    assert f"${quote.gross:,.2f}" in paper
    assert "Not for contact with food" in paper
    for inside in ("Labour", "Overhead", "Margin", "Profit"):
        assert inside not in paper

    # Accepted: stock is held, alerts change.
    warned = len(alerts(page))
    page.goto(f"/quotes/{quote.pk}/")
    follow(page, "The customer accepts")
    press(page, "Accepted")
    heading(page, "Coasters and a canvas")
    assert len(alerts(page)) > warned

    # The reorder sheet by supplier, then the delivery.
    page.goto("/reorder/")
    sheet = pdf_text(page, "Reorder sheet PDF")
    for supplier in ("Thistledown Paint Store", "Cobble Yard Tiles", "Puddleby Resin Supply"):
        assert supplier in sheet
    press(page, "Turn into orders")
    for order in studio.purchase_orders.order_by("number"):
        page.goto(f"/orders/{order.number}/")
        press(page, "Mark as sent")
        follow(page, "Receive")
        press(page, "Put on the shelf")
        expect(content).to_contain_text("Received")

    # The pours, with what they really took.
    tiles, canvas = studio.commissions.get().lines.all()
    page.goto(f"/pours/new/?line={tiles.pk}")
    page.get_by_label("Mixed").nth(0).fill("1 cup 2 tbsp")
    page.get_by_label("Left in cups").nth(0).fill("1 tbsp")
    page.get_by_label("Run-off kept").nth(0).fill("1/3 cup")
    page.get_by_label("Hands-on minutes").fill("80")
    press(page, "Log the pour")
    heading(page, "Pour 6")
    follow(page, "Log a topcoat")
    expect(content).to_contain_text("gloves")
    page.get_by_label("Resin mixed").fill("150 mL")
    page.get_by_label("Hands-on minutes").fill("45")
    press(page, "Log the topcoat")
    go_on(page, "Log the topcoat")
    page.goto(f"/pours/new/?line={canvas.pk}")
    page.get_by_label("Hands-on minutes").fill("35")
    press(page, "Log the pour")

    # Packed and sold through a channel with fees.
    for line in (tiles, tiles, canvas):
        page.goto(f"/sets/new/?line={line.pk}")
        page.get_by_label("Minutes to pack").fill("6")
        press(page, "Pack")
        go_on(page, "Pack")
    follow(page, "Record the sale")
    choose(page, "Channel", "Card reader")
    press(page, "Record the sale")
    go_on(page, "Record the sale")
    heading(page, "Sale 1")

    # Profit per coaster set, and books that agree.
    page.goto("/profit/")
    for words in ("Set 1", "Set 2", "Set 3"):
        expect(content).to_contain_text(words)
    sale = studio.sales.get()
    assert sum((line.price for line in sale.lines.all()), D(0)) == quote.gross
    assert studio.commissions.get().status == "paid"
    assert check() == []


def go_on(page, button):
    """Write down why it goes on before its time, as the page asks; all else stands as typed."""
    reason = page.get_by_label("Reason to go on")
    expect(reason).to_be_visible()
    reason.fill(REASON)
    press(page, button)


def alerts(page):
    page.goto("/alerts/")
    rows = page.get_by_role("main").get_by_role("listitem").all_inner_texts()
    return [row for row in rows if re.search(r"\S", row)]
