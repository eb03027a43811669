"""The starter shelf: the trade's own ratios, counted roughly, and nobody else's."""

from decimal import Decimal as D

import pytest

from inventory.models import Material
from pricing.costing.planned_price import price_of_product
from pricing.models import Product
from pricing.starting.filling import Have, Label, fill_shelf
from pricing.starting.pricing import Given, give_prices, things_to_price
from pricing.starting.shelf import read_piece, supplies_for
from pricing.starting.steps import first_steps
from studio.people import open_studio
from studio.preferences import beginnings
from studio.rows import NotYours
from tests.factories.studio import UserFactory

pytestmark = pytest.mark.django_db
COASTERS = read_piece("coasters~4¼ × 4¼ × ¼ in")
CANVAS = read_piece("canvases~8 × 10 × ¾ in")
READ = Label(D(1), D(1), "volume", D(95), D(168))


@pytest.fixture
def ada():
    return UserFactory()


@pytest.fixture
def studio(ada):
    studio = open_studio(user=ada, name="Tide & Tilt", **beginnings("us"))
    studio.labour_rate, studio.overhead_rate = D(20), D(0)
    studio.save()
    return studio


def filled(studio, by, *pieces, counts=(), label=READ, without=()):
    """Fill a shelf with what is usual for some pieces; ``counts`` are {slug: how many}."""
    usual = [one for one in supplies_for(pieces) if one.is_usual and one.slug not in without]
    have = [Have(one, D(dict(counts).get(one.slug, 0))) for one in usual]
    return fill_shelf(studio=studio, by=by, have=have, pieces=pieces, label=label)


def parts(studio, name):
    recipe = studio.recipes.get(name=name)
    assert recipe.basis == "volume"
    return {str(one.material): one.parts for one in recipe.parts.all()}


def give(studio, by, prices):
    """Give prices by the label of a thing, each for as much as one usually holds."""
    first, others = things_to_price(studio)
    by_label = {one.label: one for one in (*first, *others)}
    given = [Given(by_label[name], D(price), by_label[name].holds) for name, price in prices]
    return give_prices(studio=studio, by=by, given=given)


def test_what_is_mixed_has_the_trades_ratios(studio, ada):
    filled(studio, ada, CANVAS)

    # Common practice, no source: pouring medium 1 : 1, a cell activator 1 : 3, an untouched pillow.
    assert parts(studio, "Phthalo blue mix") == {"Phthalo blue": 1, "Pouring medium": 1}
    assert parts(studio, "White cell activator") == {"Titanium white": 1, "Paint conditioner": 3}
    assert parts(studio, "White base coat") == {"Matt white wall paint": 1}
    assert "common practice, no source" in studio.recipes.get(name="Phthalo blue mix").notes
    assert {str(one) for one in studio.palettes.all()} == {
        *("Blue and green", "Magenta and blue", "Black and white")
    }
    assert not studio.materials.filter(kind__in=("resin", "hardener")).exists()


def test_what_was_counted_is_there_and_has_no_price(studio, ada):
    filled(studio, ada, CANVAS, counts={"wall-paint": "1.5", CANVAS.surface: 4})

    white = studio.materials.get(name="Matt white wall paint")
    assert sorted(white.bottles.values_list("remaining", "capacity")) == [(473, 946), (946, 946)]
    assert studio.materials.get(name=CANVAS.surface).on_hand == 4
    assert {one.value for one in studio.materials.all()} == {0}
    assert studio.packs.count() == 0  # nothing is shipped with a price


def test_a_shelf_that_is_filled_again_stays_as_it_is(studio, ada):
    def rows():
        return [
            getattr(studio, name).count()
            for name in ("materials", "bottles", "recipes", "palettes", "surfaces", "products")
        ]

    filled(studio, ada, COASTERS, counts={"wall-paint": 2})
    before = rows()
    filled(studio, ada, COASTERS, counts={"wall-paint": 2})

    assert rows() == before


def test_without_white_wall_paint_the_base_is_what_the_colours_are(studio, ada):
    filled(studio, ada, CANVAS, without=["wall-paint"])

    assert {str(one.base) for one in studio.palettes.all()} == {"Titanium white mix"}


def test_coasters_have_no_product_until_the_label_was_read(studio, ada):
    filled(studio, ada, COASTERS, label=Label())

    assert not studio.resin_kits.get().has_ratio
    assert not Product.objects.exists()

    filled(studio, ada, COASTERS)

    product = studio.products.get()
    assert (product.pieces_each, product.topcoat.has_ratio) == (4, True)
    assert str(product.packaging) == "Box for four coasters"


def test_the_five_are_what_a_piece_takes_most_of(studio, ada):
    filled(studio, ada, COASTERS)

    first, others = things_to_price(studio)

    assert [one.label for one in first] == [
        COASTERS.surface,
        "Clear coating resin, parts A and B",
        "Matt white wall paint",
        "Pouring medium",
        "Phthalo blue",
    ]
    assert "Tap water" not in {one.label for one in others}


def test_a_price_says_how_much_of_it_rests_on_what_is_not_known(studio, ada):
    filled(studio, ada, CANVAS)
    prices = [
        (CANVAS.surface, "6"),
        ("Matt white wall paint", "15"),
        ("Pouring medium", "16"),
        ("Phthalo blue", "59"),
    ]
    give(studio, ada, prices)

    asking = price_of_product(studio.products.get()).asking
    blue = asking.prices[studio.materials.get(name="Phthalo blue")]
    green = asking.prices[studio.materials.get(name="Phthalo green")]
    assert (blue.is_known, green.is_known) == (True, False)
    assert green.unit_price == blue.unit_price == D("0.5")  # 59 for 118 mL
    assert set(asking.unknown_names) == {"Phthalo green", "Titanium white", "Paint conditioner"}
    assert asking.left_out == ("Box for one picture",)
    with_it, without = asking.cost, asking.cost * (1 - asking.unknown_share)

    give(studio, ada, [("Phthalo green", "0.01"), ("Titanium white", "0.01")])
    give(studio, ada, [("Paint conditioner", "0.01"), ("Box for one picture", "0.01")])
    bare = price_of_product(studio.products.get()).asking
    assert (bare.unknown, bare.unknown_share) == ((), 0)
    assert without < with_it
    assert bare.cost == pytest.approx(without, abs=D("0.02"))


def test_a_kind_without_any_price_has_none_and_says_so(studio, ada):
    filled(studio, ada, CANVAS)
    give(studio, ada, [("Matt white wall paint", "15"), ("Pouring medium", "16")])

    with pytest.raises(Exception, match="No price is known for Canvas, 8 × 10 × ¾ in"):
        price_of_product(studio.products.get())


def test_what_was_counted_is_worth_its_price_once_that_is_given(studio, ada):
    filled(studio, ada, COASTERS, counts={"wall-paint": "1.5", "resin-a": 1, "resin-b": 1})
    give(studio, ada, [("Matt white wall paint", "20"), ("Clear coating resin, parts A and B", 44)])

    rows = {one.name: (one.on_hand, one.value) for one in Material.objects.filter(value__gt=0)}
    assert rows == {
        "Matt white wall paint": (1419, 30),
        "Coating resin, part A": (473, 22),
        "Coating resin, part B (hardener)": (473, 22),
    }


def test_a_kit_is_shared_over_its_parts_as_they_are_mixed(studio, ada):
    filled(studio, ada, COASTERS, label=Label(D(2), D(1), "volume", D(95), D(168)))
    give(studio, ada, [("Clear coating resin, parts A and B", "45.01")])

    packs = {str(one.material): (one.size, one.price) for one in studio.packs.all()}
    assert packs == {
        "Coating resin, part A": (D("630.6667"), D("30.01")),
        "Coating resin, part B (hardener)": (D("315.3333"), D("15.00")),
    }


def test_another_studios_things_have_no_price_here(studio, ada):
    filled(studio, ada, CANVAS)
    other = open_studio(user=UserFactory(), name="Elsewhere", **beginnings("de"))
    (thing, *_), _ = things_to_price(studio)

    with pytest.raises(NotYours):
        give_prices(studio=other, by=ada, given=[Given(thing, D(1), D(1))])
    assert (other.materials.count(), other.packs.count()) == (0, 0)


def test_the_first_steps_are_ticked_as_they_are_done(studio, ada):
    def done():
        return [step.is_done for step in first_steps(studio)]

    assert done() == [False] * 5
    filled(studio, ada, CANVAS)
    assert done() == [True, False, False, False, False]
    give(studio, ada, [(CANVAS.surface, "6")])
    studio.address = "3 Old Ropeworks"
    assert done() == [True, True, True, False, False]
