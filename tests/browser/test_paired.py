"""A paired test in Chromium: drawn, poured, rated without knowing which, revealed."""

import pytest
from playwright.sync_api import expect

from pricing.models import PairedTest
from tests.browser.test_story import choose, heading, press
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.bench.test_judging import wet


@pytest.fixture
def bench(transactional_db):
    return working_studio()


@pytest.mark.parametrize("page", ["phone"], indirect=True)
def test_one_change_is_tested_with_two_tiles(page, sign_in, bench):
    sign_in(member(bench.studio, "maker")).goto("/pairs/")
    page.get_by_role("link", name="Test one change").first.click()
    choose(page, "The one change", "Straw")
    choose(page, "Surface", "Tile")
    choose(page, "Technique", "Bloom")
    choose(page, "Palette", "Tide")
    press(page, "Draw the lot")
    heading(page, "Pair 1")
    tile = PairedTest.objects.get().changed_tile
    expect(page.get_by_text(f"Tile {tile} alone gets the change")).to_be_visible()

    wet(bench)
    page.get_by_role("link", name="It is poured").click()
    page.locator("select[name=pour]").select_option(label="Pour 1")
    press(page, "Save")
    expect(page.get_by_text("alone gets the change")).to_have_count(0)
    expect(page.get_by_text("is told once both are rated")).to_be_visible()

    page.get_by_role("link", name="Rate both tiles").click()
    page.locator("[name=first][value='5']").tap()
    page.locator("[name=second][value='2']").tap()
    press(page, "Save")
    expect(page.get_by_text(f"Tile {tile} had it")).to_have_count(0)
    press(page, "Reveal which had it")

    expect(page.get_by_text(f"Tile {tile} had it")).to_be_visible()
    outcome = "Better" if tile == 1 else "Worse"
    expect(page.get_by_text(outcome, exact=True)).to_be_visible()
