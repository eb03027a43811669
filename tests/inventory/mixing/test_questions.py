"""What is asked of a recipe: resin in it, water, how thick its film may dry, how long it keeps."""

from datetime import timedelta
from decimal import Decimal as D

import pytest

from inventory.errors import BatchRefused, RecipeRefused
from inventory.mixing.batches import mix_batch
from inventory.mixing.mix_book import mix_book
from inventory.mixing.proportions.dilution import dilution
from inventory.mixing.proportions.errors import RecipeError
from inventory.mixing.proportions.mediums import medium_of
from inventory.mixing.questions import medium_of_recipe
from inventory.mixing.recipes import save_recipe
from inventory.stock import ledger as stock
from tests.factories.inventory import MaterialFactory


# Makers' published recipes: 1 part of paint to 1 to 5 of pouring medium; of anti-craze medium 4 is
# the floor and 10 the usual.
@pytest.mark.parametrize(
    ("paint", "pouring", "anti_craze", "medium"),
    [
        (1, 0, 0, "ordinary"),
        (2, 1, 0, "ordinary"),
        (1, 1, 0, "pouring"),
        (1, 5, 0, "pouring"),
        (1, 0, 3, "pouring"),
        (1, 0, 4, "anti-craze"),
        (1, 0, 10, "anti-craze"),
        (0, 0, 0, "ordinary"),
    ],
)
def test_the_medium_that_there_is_enough_of_decides(paint, pouring, anti_craze, medium):
    assert medium_of(paint, pouring, anti_craze) == medium


@pytest.mark.django_db
def test_a_recipe_is_told_its_limit_by_what_its_bottles_are_marked_as(studio, maker):
    paint = MaterialFactory(studio=studio, kind="paint")
    medium = MaterialFactory(studio=studio, kind="medium")
    water = MaterialFactory(studio=studio, kind="water")
    inner = save_recipe(
        studio=studio,
        name="Medium",
        role="other",
        basis="volume",
        parts=[(medium, D(3)), (water, D(1))],
    )
    mix = save_recipe(
        studio=studio,
        name="Mix",
        role="colour",
        basis="volume",
        parts=[(paint, D(1)), (inner, D(2))],
    )

    before = maker.client.get(f"/recipes/{mix.pk}/").content.decode()
    answer = maker.api.patch(f"/api/v1/materials/{medium.pk}/", {"medium": "pouring"})
    after = maker.client.get(f"/recipes/{mix.pk}/").content.decode()

    assert answer.data["medium"] == "pouring"
    assert "no pouring medium in it" in before and "1.5 mm or more" in before
    assert "less likely to craze" in after and "up to 3 mm" in after
    assert medium_of_recipe(mix_book(studio), mix) == "pouring"  # 1.5 of medium to 1 of paint


# Water: 30 % or less (three sources), half and half at most (two), far more on gesso (one maker).
@pytest.mark.parametrize(
    ("water", "judged"),
    [(0, "fine"), (30, "fine"), (31, "sources differ"), (50, "sources differ"), (51, "too much")],
)
def test_water_is_held_against_what_sources_say(water, judged):
    assert dilution(water, 100) == judged


def test_more_water_than_mix_is_no_mix():
    with pytest.raises(RecipeError):
        dilution(11, 10)


@pytest.fixture
def wall(studio):
    return MaterialFactory(studio=studio, kind="paint", opened_life_days=None)


@pytest.fixture
def water(studio):
    return MaterialFactory(studio=studio, kind="water", is_stocked=False)


def recipe_of(studio, *parts, name="Thin", **more):
    return save_recipe(
        studio=studio, name=name, role="base", basis="volume", parts=list(parts), **more
    )


@pytest.mark.django_db
def test_water_beyond_what_binders_bear_is_warned_of_on_page_and_api(studio, maker, wall, water):
    thin = recipe_of(studio, (wall, D(3)), (water, D(2)))  # 40 %

    page = maker.client.get(f"/recipes/{thin.pk}/").content.decode()
    told = maker.api.get(f"/api/v1/recipes/{thin.pk}/questions/").data["results"]

    assert "40 % of it is water. Sources differ" in page
    assert [(one["code"], one["is_warning"]) for one in told] == [
        ("water", True),
        ("film", False),
        ("keeps", False),
    ]


@pytest.mark.django_db
@pytest.mark.parametrize("kind", ["resin", "hardener"])
def test_parts_of_resin_go_into_no_paint(studio, maker, wall, kind):
    part = MaterialFactory(studio=studio, kind=kind, name="Part")
    mix = recipe_of(studio, (wall, D(1)))
    body = {"name": "Bad", "role": "colour", "parts": [{"material": part.pk, "parts": 1}]}

    with pytest.raises(RecipeRefused, match="Part is a part of a resin"):
        recipe_of(studio, (wall, D(1)), (part, D(1)), name="Bad")
    answer = maker.api.post("/api/v1/recipes/", body)
    page = maker.client.get("/recipes/new/").content.decode()
    renamed = maker.api.patch(f"/api/v1/materials/{wall.pk}/", {"kind": kind})

    assert (answer.status_code, answer.data["code"]) == (409, "recipe_refused")
    assert f'value="m{part.pk}"' not in page and f'value="m{wall.pk}"' in page
    assert (renamed.status_code, list(renamed.data["fields"])) == (400, ["kind"])
    assert mix.parts.get().material == wall


@pytest.mark.django_db
def test_a_recipe_of_before_with_resin_in_it_is_not_mixed(studio, maker, wall):
    mix = recipe_of(studio, (wall, D(1)))
    stock_up(studio, wall, 100)
    type(wall).objects.filter(pk=wall.pk).update(kind="resin")

    with pytest.raises(BatchRefused, match="never into paint"):
        mix_batch(studio=studio, by=maker.user, recipe=mix, volume_ml=D(10))
    assert "is a part of a resin" in maker.client.get(f"/recipes/{mix.pk}/").content.decode()


def stock_up(studio, material, ml, **more):
    receipt = stock.Receipt(material=material, quantity=D(ml), value=D(5), **more)
    stock.receive(studio=studio, by=None, receipts=[receipt], kind="opening")


@pytest.mark.django_db
def test_thinned_paint_keeps_for_less_time_than_its_bottle(studio, maker, wall, water):
    """30 days is common practice, no source; what the recipe says wins, and a bottle that ends."""
    today = studio.today()
    stock_up(studio, wall, 100, expires_on=today + timedelta(days=400))
    thin = recipe_of(studio, (wall, D(9)), (water, D(1)))
    said = recipe_of(studio, (wall, D(9)), (water, D(1)), name="Said", keeps_days=60)
    plain = recipe_of(studio, (wall, D(1)), name="Plain")

    def keeps(recipe):
        batch = mix_batch(studio=studio, by=maker.user, recipe=recipe, volume_ml=D(10))
        return (batch.bottle.expires_on - today).days

    assert (keeps(thin), keeps(said), keeps(plain)) == (30, 60, 400)
