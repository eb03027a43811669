"""How a pour was moved, noted on a phone: the taps are counted, six at most beyond the pour."""

import pytest
from playwright.sync_api import expect

from pricing.bench.moving import Noted, note_moves
from pricing.models import Pour
from tests.browser.test_story import heading
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.bench.test_judging import wet

MOST_TAPS = 6


@pytest.fixture
def bench(transactional_db):
    return working_studio()


class Finger:
    """Taps things on a page, and counts it; a number that is typed is a tap on its field."""

    def __init__(self, page):
        self.page, self.taps = page, 0

    def tap(self, thing):
        self.taps += 1
        thing.tap()

    def label(self, words):
        self.tap(self.page.locator("#moves label.choice").filter(has_text=words).first)

    def button(self, words):
        self.tap(self.page.get_by_role("button", name=words, exact=True))

    def type(self, name, text):
        self.tap(self.page.locator(f"#moves [name={name}]"))
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)


def told(number):
    pour = Pour.objects.get(number=number)
    return pour.moves, pour.heat, pour.rest_minutes, pour.was_covered


@pytest.mark.parametrize("page", ["phone"], indirect=True)
def test_the_first_time_the_whole_of_it_takes_six_taps(page, sign_in, bench):
    wet(bench)
    finger = Finger(sign_in(member(bench.studio, "maker")))
    page.goto("/pours/1/")

    finger.label("Tilted")
    finger.label("Torch")
    finger.tap(page.get_by_label("No", exact=True))
    finger.type("rest_minutes", "3")
    finger.type("trace_base_0", "5.5")
    finger.button("Keep it")

    expect(page.get_by_text("It is noted how Pour 1 was moved.")).to_be_visible()
    assert told(1) == ("tilt", "torch", 3, False)
    assert finger.taps <= MOST_TAPS


@pytest.mark.parametrize("page", ["phone"], indirect=True)
def test_as_last_time_is_one_tap_with_the_trace_of_every_mix(page, sign_in, bench):
    traces = {("base", 0): 5, ("colours", 0): 4, ("colours", 1): 6, ("activator", 0): 3}
    note_moves(pour=wet(bench), noted=Noted(("tilt", "straw"), "torch", 3, True, traces))
    wet(bench)
    finger = Finger(sign_in(member(bench.studio, "maker")))
    page.goto("/pours/2/")
    assert told(2) == ("", "", None, None)

    finger.button("As last time")

    expect(page.get_by_text("It is noted that Pour 2 was moved as Pour 1.")).to_be_visible()
    assert told(2) == ("tilt straw", "torch", 3, True)
    kept = [
        one["trace_seconds"] for row in Pour.objects.get(number=2).layers.all() for one in row.mixes
    ]
    assert [float(one) for one in kept] == [5, 4, 6, 3]
    assert finger.taps == 1


@pytest.mark.parametrize("page", ["phone"], indirect=True)
def test_four_things_that_differ_from_last_time_take_six_taps(page, sign_in, bench):
    note_moves(pour=wet(bench), noted=Noted(("tilt",), "torch", 3, True, {("base", 0): 5}))
    wet(bench)
    finger = Finger(sign_in(member(bench.studio, "maker")))
    page.goto("/pours/2/")

    finger.tap(page.get_by_text("Something was different"))
    finger.label("Blown")
    finger.label("No heat")
    finger.type("rest_minutes", "8")
    finger.type("trace_base_0", "4.5")
    finger.button("Keep it")

    heading(page, "Pour 2")
    expect(page.get_by_text("It is noted how Pour 2 was moved.")).to_be_visible()
    assert told(2) == ("tilt blow", "none", 8, True)
    assert finger.taps <= MOST_TAPS
