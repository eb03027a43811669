"""How much work an act is for a hand: taps and typed fields, counted as a person does them.

A tap is a click on a link, a button or a tick, or an option chosen; a field is text that is typed,
however long. What a page does by itself, and looking at it, is free.
"""

from playwright.sync_api import Locator, Page


class Taps:
    """Works a page of Playwright and counts: ``taps``, and ``fields`` typed into.

    Everything that the act needs goes through `tap`, `choose`, `type` and `enter`; what a test
    does on the page itself, such as looking at it or signing in, does not count.
    """

    def __init__(self, page: Page) -> None:
        self.page = page
        self.taps = self.fields = 0

    def tap(self, target: Locator) -> None:
        """Tap on one thing, such as a link or a button: one tap."""
        self.taps += 1
        target.click()

    def choose(self, target: Locator, option: str) -> None:
        """Choose the option of a list whose text has ``option`` in it: one tap."""
        self.taps += 1
        value = target.locator("option", has_text=option).first.get_attribute("value")
        target.select_option(value)

    def type(self, target: Locator, text: str) -> None:
        """Type text into a field in place of what is there: one field."""
        self.fields += 1
        target.fill(text)

    def within(self, *, taps: int, fields: int = 0) -> bool:
        """Say whether the act took at most so many taps and typed fields."""
        return self.taps <= taps and self.fields <= fields

    def __repr__(self) -> str:
        return f"{self.taps} taps and {self.fields} fields"

    def enter(self) -> None:
        """Press the key that sends what was typed, which a phone's keyboard has too: one tap."""
        self.taps += 1
        self.page.keyboard.press("Enter")
