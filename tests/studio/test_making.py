"""What a form lacks is made in between: nothing typed is lost, what was made comes back chosen."""

from html import unescape
from urllib.parse import urlsplit

import pytest
from django.urls import reverse

from pricing.models import CommissionLine
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.pricing import CommissionFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


@pytest.fixture
def maker(bench):
    return member(bench.studio, "maker").client


def press(client, address, words, **typed):
    """Fill in a page's form and press its button “New …”; returns the page that it leads to."""
    page = client.get(address)
    value = value_of(page, words)
    answer = client.post(address, {**typed, "make": value})
    assert answer.status_code == 302
    return answer.url


def value_of(page, words):
    html = page.content.decode()
    before, _, _ = html.rpartition(f"{words}</button>")  # the last: a base stands before a colour
    return unescape(before.rpartition('name="make" value="')[2].partition('"')[0])


def shown(page, name):
    """Return what a field of the page's form holds."""
    return page.context["form"][name].value()


def test_a_palette_is_made_inside_a_commission(bench, maker):
    commission = CommissionFactory(studio=bench.studio, customer=bench.customer)
    adding = reverse("line-new", args=[commission.number])
    typed = {"size": "8 x 8 in", "technique": bench.bloom.pk, "quantity": "3", "is_test": "on"}

    making = press(maker, adding, "New palette", **typed)
    new = maker.get(making)
    assert urlsplit(making).path == reverse("palette-new")
    assert ">Add pieces</a>" in new.content.decode()  # the way back
    rows = {"colours-TOTAL_FORMS": "1", "colours-INITIAL_FORMS": "0"}
    rows |= {"colours-0-recipe": bench.gold_mix.pk, "colours-0-parts": ""}
    palette = {"name": "Dawn", "base": bench.base.pk, "activator": bench.activator.pk, "notes": ""}
    saved = maker.post(making, palette | rows)

    page = maker.get(saved.url)
    made = bench.studio.palettes.get(name="Dawn")
    assert urlsplit(saved.url).path == adding and page.status_code == 200
    assert str(shown(page, "palette")) == str(made.pk)
    assert (shown(page, "size"), shown(page, "quantity")) == ("8 x 8 in", "3")
    assert shown(page, "is_test")
    assert "error" not in page.content.decode()
    assert not CommissionLine.objects.exists()  # it came back, and was not sent


def test_one_is_made_inside_another(bench, maker):
    """A material for a mix, for a palette; each comes back to where it was missing."""
    palette = reverse("palette-new")
    rows = {"colours-TOTAL_FORMS": "2", "colours-INITIAL_FORMS": "0"}
    rows |= {"colours-0-recipe": bench.gold_mix.pk, "colours-0-parts": "2"}
    rows |= {"colours-1-recipe": "", "colours-1-parts": ""}
    mix = press(maker, palette, "New recipe", name="Dusk", **rows)
    assert maker.get(mix).context["form"]["role"].value() == "colour"

    parts = {"parts-TOTAL_FORMS": "2", "parts-INITIAL_FORMS": "0", "parts-0-parts": "3"}
    parts |= {"parts-0-what": f"m{bench.white.pk}", "parts-1-parts": "1", "parts-1-what": ""}
    recipe = {"name": "Rust", "role": "colour", "basis": "volume", **parts}
    material = press(maker, mix, "New material", **recipe)
    saved = maker.post(material, {"name": "Iron oxide", "kind": "paint", "unit": "ml"})
    again = maker.get(saved.url)
    oxide = bench.studio.materials.get(name="Iron oxide")
    assert again.context["form"].parts.forms[1]["what"].value() == f"m{oxide.pk}"

    saved = maker.post(saved.url, recipe | {"parts-1-what": f"m{oxide.pk}"})
    page = maker.get(saved.url)
    made = bench.studio.recipes.get(name="Rust")
    assert urlsplit(saved.url).path == palette
    assert shown(page, "name") == "Dusk"
    chosen = [row["recipe"].value() for row in page.context["colours"].forms]
    assert chosen == [str(bench.gold_mix.pk), str(made.pk)]


def test_a_size_is_kept_inside_a_plan(bench, maker):
    plan = reverse("planner")
    page = maker.get(plan, {"size": "9 x 9 cm", "technique": "bloom", "count": "5"})

    left = maker.get(f"{plan}?{page.context['keep_size']}")
    form = maker.get(left.url).context["form"]
    assert (form["name"].value(), form["size"].value()) == ("9 x 9 cm", "9 x 9 cm")
    saved = maker.post(left.url, {"name": "Small square", "size": "9 x 9 cm"})

    assert urlsplit(saved.url).path == plan
    back = maker.get(saved.url).context["form"]
    assert (back["size"].value(), back["count"].value()) == ("Small square", "5")
    assert maker.get(saved.url).context["keep_size"] == ""


def test_a_way_back_that_is_forgotten_or_another_persons_leads_nowhere(bench, maker):
    commission = CommissionFactory(studio=bench.studio, customer=bench.customer)
    adding = reverse("line-new", args=[commission.number])
    making = press(maker, adding, "New palette", quantity="3")
    other = member(bench.studio, "maker").client
    token = making.split("for=")[1]

    for address in (making, f"{adding}?kept={token}", f"{adding}?kept=none"):
        page = other.get(address)
        assert page.status_code == 200 and not page.context["form"].is_bound
    assert not maker.get(f"{reverse('commission-new')}?kept={token}").context["form"].is_bound


def test_nobody_is_offered_to_make_what_they_may_not(bench):
    viewer = member(bench.studio, "viewer").client
    page = viewer.get(reverse("planner"), {"size": "9 x 9 cm"}).content.decode()

    assert 'name="make"' not in page and "Keep this size" not in page
    assert viewer.get(reverse("planner"), {"make": "palette:palette::"}).status_code in (302, 200)
