"""Every page of a studio at work, in both widths: it fits, and axe finds no WCAG A or AA fault."""

from decimal import Decimal

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client

from inventory import counts
from pricing.demo import shop, story
from tests.conftest import Person

RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]}}


def addresses(studio):
    """Return an address of each kind of page, with rows behind it."""
    line = studio.commissions.get().lines.first()
    material, bottle = studio.materials.filter(kind="paint").first(), studio.bottles.first()
    recipe, supplier = studio.recipes.first(), studio.suppliers.first()
    count = counts.start_count(studio=studio, by=None)
    counts.record(count=count, by=None, bottle=bottle, quantity=Decimal(5), confirmed=True)
    return [
        "/",
        "/plan/?size=8x8x1.5in&count=2",
        f"/plan/?size=10x10cm&palette={line.palette_id}&topcoat={line.topcoat_id}",
        "/plan/sizes/",
        "/commissions/",
        "/commissions/1/",
        "/commissions/1/promise/",
        "/commissions/new/",
        "/commissions/1/pictures/",
        f"/pictures/{studio.pictures.first().pk}/",
        "/schedule/",
        "/working-days/",
        f"/quotes/{studio.quotes.get().pk}/",
        "/mixing/",
        "/batches/",
        "/record/",
        "/pours/",
        "/pours/6/",
        f"/pours/new/?line={line.pk}",
        "/pours/6/topcoat/",
        "/sets/",
        "/sets/1/",
        "/sales/",
        "/sales/1/",
        "/profit/",
        "/alerts/",
        "/stock/",
        f"/stock/{material.pk}/",
        f"/stock/{material.pk}/receive/",
        "/bottles/",
        f"/bottles/{bottle.code}/",
        f"/bottles/{bottle.code}/weigh/",
        "/counts/",
        "/counts/new/",
        "/counts/1/",
        "/counts/1/weigh/",
        "/counts/1/report/",
        "/ledger/",
        f"/ledger/{studio.entries.first().pk}/",
        "/suppliers/",
        f"/suppliers/{supplier.pk}/",
        "/reorder/",
        "/orders/",
        "/orders/1/",
        "/recipes/",
        f"/recipes/{recipe.pk}/",
        f"/recipes/{recipe.pk}/edit/",
        "/palettes/",
        "/surfaces/",
        "/techniques/",
        "/resin-kits/",
        "/channels/",
        "/customers/",
        "/settings/",
        "/people/",
        "/tokens/",
        "/more/",
    ]


def faults_of(page):
    """Return what axe finds on the page, and whether it is wider than its window."""
    found = [one["id"] for one in Axe().run(page, options=RULES).response["violations"]]
    wide = page.evaluate("document.documentElement.scrollWidth") - page.viewport_size["width"]
    return found + ([f"{wide} px too wide"] if wide > 0 else [])


@pytest.fixture
def owner_at_work(transactional_db):
    studio, user = shop.build(seed=1)
    story.live(studio, user)
    client = Client()
    client.force_login(user)
    return Person(user, studio, client, None)


def test_every_page_fits_and_can_be_read(page, sign_in, owner_at_work):
    sign_in(owner_at_work)
    faults = {}

    for address in addresses(owner_at_work.studio):
        answer = page.goto(address)
        found = faults_of(page) if answer.status == 200 else [f"status {answer.status}"]
        if found:
            faults[address] = found

    assert faults == {}
