"""The table of materials: a block of a spreadsheet pasted into it, on a phone and at a desk."""

from django.core.management import call_command
from playwright.sync_api import expect

from tests.factories.inventory import PackFactory
from tests.inventory.stock.shelves import D

# As a spreadsheet puts it on the clipboard: tabs, Windows line ends, a cell in quotes.
BLOCK = (
    "Titanium white\tPaint\tmL\tTarn Paints\t32 fl oz\t$18.50\t1 gal\r\n"
    '"Panel, 8 × 8"\tcanvas\teach\tQuarry Boards\t1\t7.40\t20\r\n'
    "Gold mica\tadditive\tg\tTarn Paints\t50 g\tfour\t\r\n"
)
PASTE = """(cell, text) => {
  const clipboardData = new DataTransfer();
  clipboardData.setData("text/plain", text);
  const options = { clipboardData, bubbles: true, cancelable: true };
  cell.dispatchEvent(new ClipboardEvent("paste", options));
}"""


def test_a_block_is_pasted_mended_and_saved_at_once(sign_in, maker, studio):
    studio.measures = "us"
    studio.save()
    pack = PackFactory(studio=studio, price=D(10), material__name="Old blue")
    page = sign_in(maker)
    page.goto("/stock/table/")

    page.locator("#rows-1-name").evaluate(PASTE, BLOCK)
    expect(page.locator("#rows-2-kind")).to_have_value("surface")
    price = page.locator("#rows-0-price")
    price.fill("12")
    price.press("Enter")
    expect(page.locator("#rows-1-price")).to_be_focused()
    page.get_by_role("button", name="Save the table").click()

    expect(page.locator("#rows-3-price")).to_have_value("four")
    expect(page.locator("#rows-3-price")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#rows-0-price")).to_have_value("12")
    assert not studio.bottles.exists()
    page.locator("#rows-3-price").fill("4")
    page.get_by_role("button", name="Save the table").click()

    expect(page.get_by_text("3 materials added")).to_be_visible()
    pack.refresh_from_db()
    assert pack.price == 12
    assert sorted(studio.bottles.values_list("material__name", "remaining")) == [
        ("Panel, 8 × 8", 20),
        *[("Titanium white", D("946.3529"))] * 3,
        ("Titanium white", D("946.3531")),  # a gallon is 3,785.4118 mL, four of 946.3529 and 0.0002
    ]
    call_command("check_books")
