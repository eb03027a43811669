"""Recipes written down whole, and rings of recipes refused by name."""

from decimal import Decimal

import pytest
from django.utils import timezone

from inventory.errors import NotInStudio, RecipeRefused
from inventory.mixing.recipes import save_recipe
from inventory.models import Recipe
from studio.rows import put_away
from tests.factories.inventory import MaterialFactory, RecipeFactory

D = Decimal
pytestmark = pytest.mark.django_db


@pytest.fixture
def white(studio):
    return MaterialFactory(studio=studio, name="White")


def save(studio, name, *parts, recipe=None, **options):
    return save_recipe(
        studio=studio,
        name=name,
        role="colour",
        basis="volume",
        parts=[(thing, D(number)) for thing, number in parts],
        recipe=recipe,
        **options,
    )


def test_a_recipe_keeps_its_parts_in_order(studio, white):
    medium = MaterialFactory(studio=studio, name="Medium")
    thinned = save(studio, "Thinned medium", (medium, 3))

    made = save(studio, " Sky ", (thinned, 2), (white, "0.5"), trace_seconds=D(3), notes="Slowly")

    assert [(p.material, p.subrecipe, p.parts) for p in made.parts.all()] == [
        (None, thinned, D(2)),
        (white, None, D("0.5")),
    ]
    assert (made.name, made.trace_seconds, made.notes) == ("Sky", D(3), "Slowly")


def test_changing_a_recipe_replaces_its_parts(studio, white):
    blue = MaterialFactory(studio=studio, name="Blue")
    made = save(studio, "Sky", (white, 1))

    changed = save(studio, "Deep sky", (blue, 2), recipe=made)

    assert changed == made
    assert [part.material for part in changed.parts.all()] == [blue]


def test_a_ring_of_recipes_is_refused_by_name(studio, white):
    sky = save(studio, "Sky", (white, 1))
    sea = save(studio, "Sea", (sky, 1))
    storm = save(studio, "Storm", (sea, 1), (white, 1))

    with pytest.raises(RecipeRefused, match="Sky → Storm → Sea → Sky"):
        save(studio, "Sky", (white, 1), (storm, 1), recipe=sky)
    with pytest.raises(RecipeRefused, match="Sky → Sky"):
        save(studio, "Sky", (sky, 1), recipe=sky)

    assert [part.material for part in sky.parts.all()] == [white]


@pytest.mark.parametrize("number", ["0", "-1", "NaN", "Infinity", "1000000"])
def test_parts_that_cannot_be_are_refused(studio, white, number):
    with pytest.raises(RecipeRefused, match="parts of White"):
        save(studio, "Sky", (white, number))

    assert Recipe.objects.count() == 0


def test_what_cannot_be_mixed_is_refused(studio, white):
    tile = MaterialFactory(studio=studio, name="Tile", kind="surface", unit="each")

    with pytest.raises(RecipeRefused, match="Tile cannot be mixed"):
        save(studio, "Sky", (tile, 1))
    with pytest.raises(RecipeRefused, match="stands in a recipe once"):
        save(studio, "Sky", (white, 1), (white, 2))
    with pytest.raises(RecipeRefused, match="from 1 to 40"):
        save(studio, "Sky")
    with pytest.raises(RecipeRefused, match="a name"):
        save(studio, "  ", (white, 1))


def test_a_name_is_taken_once(studio, white):
    made = save(studio, "Sky", (white, 1))

    with pytest.raises(RecipeRefused, match="“Sky” already"):
        save(studio, "Sky", (white, 1))
    assert save(studio, "Sky", (white, 2), recipe=made) == made


def test_another_studios_ingredients_and_recipes_are_not_there(studio, white):
    with pytest.raises(NotInStudio):
        save(studio, "Sky", (MaterialFactory(), 1))
    with pytest.raises(NotInStudio):
        save(studio, "Sky", (RecipeFactory(), 1))
    with pytest.raises(NotInStudio):
        save(studio, "Sky", (white, 1), recipe=RecipeFactory())


def test_a_recipe_put_away_is_kept_where_it_is_used(studio, white):
    sky = save(studio, "Sky", (white, 1))
    sea = save(studio, "Sea", (sky, 1))

    assert put_away(row=sky, at=timezone.now()).archived_at is not None
    assert sea.parts.get().subrecipe == sky
