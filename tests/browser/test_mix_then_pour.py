"""Mixed, then poured, on the way the pages lead: the paint leaves the shelf once."""

from collections import Counter

import pytest
from playwright.sync_api import expect

from inventory.models import Material, Movement
from inventory.stock.books import check
from tests.browser.test_story import choose, heading, press
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.commissions.test_commissions import accepted


@pytest.fixture
def bench(transactional_db):
    return working_studio()


def mix_all(page, cups):
    """Mix each cup of the sheet on show as it is asked for."""
    for _ in range(cups):
        page.get_by_role("link", name="Mix this batch").first.click()
        heading(page, "Mix a batch")
        press(page, "Mix the batch")
        heading(page, "Mixing sheet")
    expect(page.get_by_role("link", name="Mix this batch")).to_have_count(0)
    expect(page.get_by_text("Nothing to mix.")).to_have_count(cups)


def used(kind="paint"):
    """Return {material: mL} of what left the shelf of a kind, however it did."""
    total = Counter()
    for move in Movement.objects.filter(material__kind=kind, quantity__lt=0):
        total[move.material.name] -= move.quantity
    return total


def asked(page):
    """Return the mL of each paint that the sheet on show asks for."""
    total = Counter()
    for row in page.get_by_role("main").locator("tbody tr").all():
        name, amount = row.locator("th").inner_text(), row.locator("td").last.inner_text()
        total[name.strip()] += float(amount.split(" mL")[0])
    return total


def check_that_it_left_once(wanted):
    left = used()
    assert left.keys() == {"white", "blue", "gold"}
    for name, amount in left.items():
        assert float(amount) == pytest.approx(wanted[name], abs=0.3), name
    assert not used(Material.Kind.MIX).keys() - {"base", "blue_mix", "gold_mix", "activator"}
    assert check() == []


@pytest.mark.parametrize("page", ["phone"], indirect=True)
def test_a_commission_is_mixed_for_and_poured(page, sign_in, bench):
    accepted(bench)
    sign_in(member(bench.studio, "maker")).goto("/commissions/1/")
    page.get_by_role("link", name="Mixing sheet").first.click()
    wanted = asked(page)
    mix_all(page, 4)

    page.get_by_role("link", name="Log a pour").click()
    page.get_by_label("Hands-on minutes").fill("40")
    press(page, "Log the pour")

    heading(page, "Pour 1")
    check_that_it_left_once(wanted)
    assert bench.studio.pours.get().line.commission.number == 1


@pytest.mark.parametrize("page", ["desktop"], indirect=True)
def test_a_plan_is_mixed_and_poured(page, sign_in, bench):
    sign_in(member(bench.studio, "maker")).goto(
        f"/plan/?size={bench.tile_size.name}&count=4&palette={bench.palette.pk}"
    )
    page.get_by_role("link", name="Mixing sheet").click()
    wanted = asked(page)
    mix_all(page, 4)

    page.get_by_role("link", name="Log a pour").click()
    press(page, "Log the pour")

    heading(page, "Pour 1")
    check_that_it_left_once(wanted)
    assert bench.studio.pours.get().count == 4


@pytest.mark.parametrize("page", ["phone"], indirect=True)
def test_a_batch_leads_to_a_pour_from_it(page, sign_in, bench):
    sign_in(member(bench.studio, "maker")).goto("/batches/new/")
    choose(page, "Recipe", "base")
    page.get_by_label("Mixed", exact=True).fill("120 mL")
    press(page, "Mix the batch")

    page.get_by_role("link", name="Log a pour").click()
    choose(page, "Surface", "Tile")
    choose(page, "Technique", "Bloom")
    choose(page, "Palette", "Tide")
    page.get_by_label("Hands-on minutes").fill("40")
    press(page, "Log the pour")

    heading(page, "Pour 1")
    assert used() == {"white": 108}  # nine parts of ten
    assert check() == []
