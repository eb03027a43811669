"""What is asked of a recipe: how thick its film may dry."""

from decimal import Decimal as D

import pytest

from inventory.mixing.mix_book import mix_book
from inventory.mixing.proportions.mediums import medium_of
from inventory.mixing.questions import medium_of_recipe
from inventory.mixing.recipes import save_recipe
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
