"""The search from every page: anything by any fragment, of one's own studio, as far as one sees."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.conftest import member
from tests.factories.everything import one_of_everything
from tests.factories.inventory import (
    BottleFactory,
    MaterialFactory,
    PackFactory,
    RecipeFactory,
    RecipePartFactory,
)
from tests.factories.pricing import (
    CommissionFactory,
    CustomerFactory,
    PaletteColourFactory,
    PaletteFactory,
    SavedSurfaceFactory,
)
from tests.factories.studio import StudioFactory

pytestmark = pytest.mark.django_db


def listed(person, words):
    page = person.client.get(reverse("search"), {"q": words}).content.decode()
    return page[page.index('id="found"') : page.index("</main>")]


def found(person, words):
    """Return {kind: [title, ...]} of what a person finds."""
    kinds = re.split(r"<h2>", listed(person, words))[1:]
    return {
        kind.split("</h2>")[0]: re.findall(r'<a href="[^"]+">([^<]+)</a>', kind) for kind in kinds
    }


def test_a_fragment_of_a_name_a_pigment_or_a_code_is_enough(owner):
    studio = owner.studio
    blue = MaterialFactory(studio=studio, name="Phthalo blue", pigments="PB15:3")
    MaterialFactory(studio=studio, name="Yellow ochre", pigments="PY42")

    for words in ("thalo", "PB15", "pb15:3 blue", " BLUE  "):
        assert found(owner, words) == {"Materials": [blue.name]}
    assert found(owner, "green") == {}


def test_a_commission_is_found_by_customer_title_and_number(owner):
    wren = CustomerFactory(studio=owner.studio, name="Wren Alder")
    made = CommissionFactory(studio=owner.studio, customer=wren, title="Coasters in dusk")
    CommissionFactory(studio=owner.studio, title="A canvas")

    assert found(owner, "alder dusk")["Commissions"] == [str(made)]
    assert found(owner, "ald")["Customers"] == ["Wren Alder"]
    assert str(made) in found(owner, str(made.number))["Commissions"]


def test_every_hit_leads_to_its_page(owner):
    one_of_everything(owner.studio)
    seen = set()
    for words in ("a", "e", "i", "o", "1", "b0", "s"):
        for address in re.findall(r'<a href="([^"]+)">', listed(owner, words)):
            if address not in seen:
                assert owner.client.get(address).status_code == 200
                seen.add(address)
    assert len(seen) > 10


def test_nothing_of_another_studio_is_found(owner):
    theirs = StudioFactory()
    one_of_everything(theirs)

    assert found(owner, "a") == found(owner, "1") == {}


def test_a_member_finds_what_they_may_open(owner):
    one = one_of_everything(owner.studio)
    viewer = member(owner.studio, "viewer")
    of_quote = one.quote.commission.title
    type(one.quote).objects.filter(pk=one.quote.pk).update(number=41)

    assert "Quotes" in found(owner, of_quote) and "Commissions" in found(viewer, of_quote)
    assert "Quotes" not in found(viewer, of_quote)
    assert str(one.pour) in found(viewer, str(one.pour.number))["Pours"]
    for words in ("a", "e", "o", "1"):
        for address in re.findall(r'<a href="([^"]+)">', listed(viewer, words)):
            assert viewer.client.get(address).status_code == 200


@pytest.mark.parametrize("words", ["", "  ", "%", "_", "'", "\\", "½", "a" * 5000, "x " * 500])
def test_any_text_is_searched_for_and_no_mark_means_more_than_itself(owner, words):
    MaterialFactory(studio=owner.studio, name="Phthalo blue")

    assert found(owner, words) == {}


def test_it_asks_the_same_for_few_and_many(owner):
    def questions():
        with CaptureQueriesContext(
            connection,
        ) as asked:
            owner.client.get(reverse("search"), {"q": "e"})
        return len(asked)

    one_of_everything(owner.studio)
    few = questions()
    for _ in range(2):
        one_of_everything(owner.studio)

    assert questions() == few <= 22


def test_htmx_gets_the_hits_alone(owner):
    part = owner.client.get(reverse("search"), {"q": "x"}, headers={"HX-Request": "true"})

    assert "<html" not in part.content.decode()


def test_every_page_of_a_member_leads_there(viewer, stranger):
    assert f'href="{reverse("search")}"' in viewer.client.get(reverse("materials")).content.decode()
    assert stranger.client.get(reverse("search")).status_code == 302


@pytest.mark.parametrize(
    ("kept", "typed"),
    [
        ("Éclat", "ÉCLAT"),
        ("ÖLFARBE", "ölfarbe"),
        ("Ångström Лак", "åNGSTRÖM лАК"),
        ("100% [1]*", "% [1]*"),
    ],
)
def test_letters_of_any_alphabet_are_found_without_their_case(owner, kept, typed):
    MaterialFactory(studio=owner.studio, name=kept)
    MaterialFactory(studio=owner.studio, name="Eclat, Olfarbe, 1000 1")

    assert found(owner, typed) == {"Materials": [kept]}
    assert kept in owner.client.get(reverse("materials"), {"q": typed}).content.decode()


def test_a_customer_is_found_by_what_one_may_see_of_them(owner, viewer):
    CustomerFactory(studio=owner.studio, name="Wren", email="alder@birch.example", phone="0123 45")

    for words in ("birch", "0123 45"):
        assert found(owner, words) == {"Customers": ["Wren"]}
        assert found(viewer, words) == {}
    assert found(viewer, "wre") == {"Customers": ["Wren"]}


def test_a_material_is_found_once_by_its_suppliers_codes(owner):
    blue = MaterialFactory(studio=owner.studio, name="Blue")
    for code in ("AB-120", "AB-500"):
        PackFactory(studio=owner.studio, material=blue, supplier_code=code)

    assert found(owner, "ab-")["Materials"] == ["Blue"]


@pytest.mark.parametrize("typed", ["8x8", "8 X 8", "8×8", "canvas 8 × 8"])
def test_a_size_is_found_however_its_sign_is_typed(owner, typed):
    kept = SavedSurfaceFactory(studio=owner.studio, name="Canvas 8 × 8 × 1½ in")
    SavedSurfaceFactory(studio=owner.studio, name="Canvas 8 × 10 in")

    assert found(owner, typed) == {"Sizes": [kept.name]}


def test_the_name_of_a_kind_narrows_to_it(owner):
    made = CommissionFactory(studio=owner.studio, title="Twelve coasters")
    CustomerFactory(studio=owner.studio, name="Twelve Alder")

    assert found(owner, "commission twelve") == {"Commissions": [str(made)]}
    assert found(owner, f"commission {made.number}") == {"Commissions": [str(made)]}


def test_a_colour_is_found_by_the_pigment_in_it(owner):
    studio = owner.studio
    blue = MaterialFactory(studio=studio, name="Phthalo", pigments="PB15:3")
    sea = RecipeFactory(studio=studio, name="Sea")
    for _ in range(2):  # in two parts of it, and found once
        RecipePartFactory(recipe=sea, material=blue)
    bottle = BottleFactory(studio=studio, material=blue)
    PaletteColourFactory(palette=PaletteFactory(studio=studio, name="Tide"), recipe=sea)

    assert found(owner, "pb15") == {
        "Palettes": ["Tide"],
        "Materials": ["Phthalo"],
        "Bottles": [str(bottle)],
        "Recipes": ["Sea"],
    }


def test_a_whole_code_opens_its_bottle_and_a_part_of_it_does_not(owner):
    bottle = BottleFactory(studio=owner.studio, code="SH-7")
    BottleFactory(code="SH-8")  # another studio's

    answers = [owner.client.get(reverse("search"), {"q": q}) for q in (" sh-7 ", "sh-", "SH-8")]

    assert answers[0].url == reverse("bottle", args=[bottle.code])
    assert [one.status_code for one in answers] == [302, 200, 200]


def test_a_code_that_is_a_plain_number_hides_nothing_of_that_number(owner):
    made = CommissionFactory(studio=owner.studio)
    BottleFactory(studio=owner.studio, code=str(made.number))

    assert str(made) in found(owner, str(made.number))["Commissions"]
